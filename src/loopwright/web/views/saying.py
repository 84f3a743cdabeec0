"""What every page says alike: waiting, refused, gone wrong, nothing there yet."""

from loopwright.errors import BuildError, LoopwrightError, Problem
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.web.faults import Unforeseen
from loopwright.web.wording import say


def waiting() -> Markup:
    """What stands in a region until it is drawn; it shows only when that takes a while."""
    return tag("p", say("frame.working"), class_="working", role="status")


def refusal(error: LoopwrightError) -> Markup:
    """An error as a reader should see it: what is wrong, and what would do."""
    if isinstance(error, Unforeseen):
        return _fault(error)
    if isinstance(error, BuildError):
        return tag(
            "div",
            tag("h3", say("frame.refused")),
            tag("ul", *[tag("li", problem_line(problem)) for problem in error.problems]),
            class_="refusal",
            role="alert",
        )
    what, remedy = getattr(error, "what", str(error)), getattr(error, "remedy", "")
    return tag(
        "div",
        tag("p", tag("strong", _sentence(what)), " ", _sentence(remedy)),
        class_="refusal",
        role="alert",
    )


def refused_page(error: LoopwrightError) -> Markup:
    """The same where there is nothing else on the page: with a heading, and the way back."""
    return joined(
        tag("div", tag("h1", say("frame.refused_page"), tabindex="-1"), class_="page-head"),
        refusal(error),
        tag("p", tag("a", say("frame.to_front"), href="/", class_="button"), class_="way"),
    )


def problem_line(problem: Problem) -> Markup:
    """A mistake with its place and its remedy."""
    place = "" if problem.line is None else f"line {problem.line}"
    where = ", ".join(part for part in (place, problem.field) if part)
    return joined(
        tag("span", where, class_="place") if where else None,
        " ",
        tag("strong", _sentence(problem.what)),
        " ",
        _sentence(problem.remedy),
    )


def _fault(error: Unforeseen) -> Markup:
    return tag(
        "div",
        tag("h3", say("frame.fault_title")),
        tag("p", say("frame.fault")),
        tag("details", tag("summary", say("frame.fault_lines")), tag("pre", error.details)),
        class_="refusal fault",
        role="alert",
    )


def notice_box(what: Markup | str, kind: str) -> Markup:
    """A notice at the foot of the page, with a way to put it away."""
    return tag(
        "div",
        tag("div", what, class_="said"),
        tag("button", say("frame.dismiss"), type="button", data_act="dismiss"),
        class_=f"notice {kind}",
        role="alert" if kind == "refused" else "status",
    )


def empty(title: str, what: str, *way: Child) -> Markup:
    """What stands where there is nothing yet: what will be here, and the way to it."""
    return tag("div", tag("h3", title), tag("p", what), *way, class_="empty")


def _sentence(words: str) -> str:
    words = words.strip()
    if not words:
        return ""
    return words[0].upper() + words[1:] + ("" if words[-1] in ".!?:" else ".")
