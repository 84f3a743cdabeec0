"""A part out of tolerance: what each way of going on would mean at the tool, and the decision."""

from collections.abc import Sequence

from loopwright.errors import RequestError
from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.conceding import ConcessionStudy, DimOut, Way, concession
from loopwright.studies.deciding import concession_record
from loopwright.web.views.bench_words import chance_words, sized, verdict_words
from loopwright.web.views.kit import button, chip, form, more, paper, row
from loopwright.web.views.part import asks_for_decision, sheet_of, was_read
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

LARGE = 500
"""With more deviations than these the ways are worked out in the back room."""
MATCHES = 6


def is_large(work: Work, reader: Reader) -> bool:
    """Whether working the ways out takes longer than a page should wait."""
    return len(work.bench.loop.sources) > LARGE


def offered(work: Work, reader: Reader, part: str, asked: bool) -> Markup:
    """The ways to go on with a part, at once where it asks for a decision; else the way to ask.

    Args:
        work: with the build.
        reader: who decides.
        part: its name.
        asked: whether somebody asked for the ways.
    """
    if part not in work.bench.build.parts or not was_read(sheet_of(work, part)):
        return Markup()
    if not asked and not asks_for_decision(sheet_of(work, part)):
        return tag("p", button(say("conceding.work_out"), "concede_ask", quiet=True), class_="way")
    return ways(work, reader, study_of(work, part))


def study_of(work: Work, part: str) -> ConcessionStudy:
    """Every way to go on; worked out once until the book changes."""

    def make() -> ConcessionStudy:
        with one_thread():
            return concession(work.bench, part)

    return work.kept(("concession", part), make)


def ways(work: Work, reader: Reader, found: ConcessionStudy) -> Markup:
    """Every way to go on with what it would mean, and the form of the decision."""
    shown = work.shown(reader)
    out = [one for one in found.dims if str(one.conformity.verdict) != "conforming"]
    return paper(
        say("conceding.title"),
        tag("p", say("conceding.lede"), class_="note"),
        tag("ul", *[_dim(work, shown, one) for one in found.dims]),
        _compared(shown, found),
        tag("div", *[_way(shown, found, way) for way in found.ways], class_="ways"),
        _matches(found),
        _decide(found, reader) if out else tag("p", say("conceding.nothing_out"), class_="note"),
        id="conceding",
        class_="conceding",
    )


def _dim(work: Work, shown: Shown, one: DimOut) -> Markup:
    dim, held = work.bench.build.dim(one.dim), one.conformity
    size = sized(shown, held.value, one.dimension, held.std)
    verdict = verdict_words(shown, held, one.dimension, None if dim is None else dim.nominal)
    return tag("li", tag("b", one.dim.partition("/")[2]), " ", size, ". ", verdict)


def _compared(shown: Shown, found: ConcessionStudy) -> Markup:
    """Every target with its chance under each way, and what is left of its error."""
    names = [_named(way.decision) for way in found.ways]
    heads = [say("conceding.target"), *(">" + name for name in names)]
    worst: list[Child] = [
        tag("b", say("conceding.least")),
        *[tag("b", chance_words(way.least), class_="way-chance") for way in found.ways],
    ]
    rows = [worst]
    for place, (name, dimension, limit) in enumerate(found.targets):
        about = joined(
            name, " ", tag("small", say("conceding.of_limit", limit=shown.limit(limit, dimension)))
        )
        cells = [way.targets[place] for way in found.ways]
        rows.append(
            [
                about,
                *[
                    joined(
                        "" if left.chance is None else tag("b", chance_words(left.chance)),
                        tag("br"),
                        tag("small", say("conceding.left", size=shown.error(left.adjusted, dimension))),
                    )
                    for left in cells
                ],
            ]
        )
    return table(heads, rows, class_="ways-table")


def _named(decision: str) -> str:
    name = decision.replace(" ", "_")
    return say(f"conceding.decision.{name}")


def _way(shown: Shown, found: ConcessionStudy, way: Way) -> Markup:
    best = way.decision == found.best
    settings = [
        tag(
            "li",
            say(
                "conceding.set_to",
                name=name,
                to=sized(shown, value, dimension),
                by=shown.error(change, dimension, sign=True),
            ),
        )
        for name, dimension, value, change in way.settings
    ]
    grinds = any(name.endswith("/thickness") for name, *_ in way.settings)
    return tag(
        "section",
        tag(
            "div",
            tag("h3", _named(way.decision)),
            chip("done", say("conceding.best")) if best else None,
            class_="spread",
        ),
        tag("p", sentence(way.words)),
        tag("ul", *settings) if settings else None,
        tag("p", say("conceding.grinding"), class_="caution") if grinds else None,
        class_="way-card best" if best else "way-card",
    )


def _matches(found: ConcessionStudy) -> Markup:
    if not found.matches:
        return tag("p", say("conceding.no_match"), class_="note")
    rows: list[Sequence[Child]] = [
        (one.name, _kind_of_match(one.kind), chance_words(one.least), percent(one.size))
        for one in found.matches[:MATCHES]
    ]
    heads = [
        say("conceding.with"),
        "",
        ">" + say("conceding.chance_worst"),
        ">" + say("conceding.size_worst"),
    ]
    rest = len(found.matches) - MATCHES
    return more(
        plural("conceding.matches", len(found.matches)),
        table(heads, rows),
        tag("p", plural("conceding.more_matches", rest), class_="note") if rest > 0 else None,
        id="matches",
    )


def _kind_of_match(kind: str) -> str:
    name = kind.replace(" ", "_")
    return say(f"conceding.match.{name}")


def _decide(found: ConcessionStudy, reader: Reader) -> Markup:
    known = [way.decision for way in found.ways]
    radios = [
        tag(
            "label",
            tag("input", type="radio", name="decision", value=name, checked=name == found.best),
            _named(name),
        )
        for name in (*known, "refuse")
    ]
    return form(
        "concede",
        tag("h3", say("conceding.decide")),
        tag("fieldset", tag("legend", say("conceding.decision_label")), *radios, class_="decisions"),
        _area("terms", say("conceding.terms"), say("conceding.terms_hint"), f"concede/{found.part}/terms"),
        _area("why", say("conceding.why"), say("conceding.why_hint"), f"concede/{found.part}/why"),
        row(button(say("conceding.enter"), first=True)),
        id="concede",
        stay=True,
    )


def _area(name: str, label: str, hint: str, keep: str) -> Markup:
    where = f"f-{name}"
    return tag(
        "div",
        tag("label", label, for_=where),
        tag(
            "textarea",
            id=where,
            name=name,
            rows="2",
            data_keep=keep,
            maxlength="2000",
            aria_describedby=f"{where}-hint",
        ),
        tag("span", hint, class_="hint", id=f"{where}-hint"),
        class_="field",
    )


def decide(work: Work, reader: Reader, part: str, decision: str, terms: str, why: str, key: str) -> int:
    """Enters what was decided of a part; the number of the entry.

    Raises:
        RequestError: nothing of it is out of tolerance, or there is no such way to go on.
    """
    if not decision:
        raise RequestError(say("conceding.no_decision"), say("conceding.no_decision_remedy"))
    with one_thread():
        record = concession_record(study_of(work, part), decision, terms=terms)
    written = work.book.append(
        record,
        who=reader.who or say("frame.nobody"),
        why=why,
        station=reader.station,
        key=key or None,
        seen=work.bench.last,
    )
    return written.entry.number


def long_study(work: Work, reader: Reader, part: str, *, telling: object = None) -> ConcessionStudy:
    """Every way to go on, worked out in the back room."""
    return study_of(work, part)


def asking(work: Work, reader: Reader, part: str, found: ConcessionStudy | None = None) -> Markup:
    """The ways of a large machine once they are worked out; before that the way to ask for them."""
    if found is not None:
        return ways(work, reader, found)
    if part not in work.bench.build.parts or not was_read(sheet_of(work, part)):
        return Markup()
    first = asks_for_decision(sheet_of(work, part))
    return tag(
        "p", button(say("conceding.work_out"), "concede_ask", first=first, quiet=not first), class_="way"
    )
