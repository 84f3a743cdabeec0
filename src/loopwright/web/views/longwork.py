"""How far long work is, and what stands in its place when it was not done."""

from loopwright.sheets.markup import Markup, joined, tag
from loopwright.web.views.kit import button, row
from loopwright.web.wording import say


def going_on(label: str, done: int, wanted: int | None, stop: str, waits: str | None = None) -> Markup:
    """How far long work is, with a way to stop it; where nobody knows how long it takes, that it goes on.

    Args:
        label: what is being done.
        done: how much of it.
        wanted: how much there is to do; None where nobody knows.
        stop: asked for by the button that stops it.
        waits: why it is not begun yet; None where it is.
    """
    # what was counted is done, and something is still worked out of it
    share = done / wanted if wanted and done < wanted else None
    words = say("frame.progress", done=f"{done:,}", wanted=f"{wanted:,}") if wanted else None
    width = f"width:{100 * share:.1f}%" if share is not None else None
    bar = tag(
        "div",
        tag("i", style=width),
        class_="meter" if share is not None else "meter open",
        role="progressbar",
        aria_label=label.rstrip(":"),
        aria_valuenow=None if share is None else round(100 * share),
        aria_valuemin=0,
        aria_valuemax=100,
    )
    said = joined(label, " ", words) if waits is None else joined(label.rstrip(":"), tag("small", waits))
    return tag("div", tag("p", said), bar, row(button(say("frame.stop"), stop)))


def not_done(words: str, label: str, act: str) -> Markup:
    """What stands in the place of long work that was stopped, or that something entered since has overtaken."""
    return tag("div", tag("p", words, class_="note"), row(button(label, act)), class_="undone")
