"""The sheet on which readings are typed: one large field, big keys, and what the script says, all of it in data."""

import json
from collections.abc import Sequence

from loopwright.sheets.markup import Markup, joined, tag
from loopwright.web.views.bench_plan import Plan
from loopwright.web.views.kit import button, field, form, link, more, row, tick
from loopwright.web.wording import keys, say
from loopwright.web.work import Reader, Work

FIGURES = ("7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "⌫")


def sheet_markup(
    work: Work,
    reader: Reader,
    title: str,
    run: str,
    plans: Sequence[Plan],
    *,
    correcting: int | None = None,
    told: str | None = None,
) -> Markup:
    """The sheet.

    Args:
        work: with the build.
        reader: who reads.
        title: of what is read in a row.
        run: names it, so that this device finds how far it is.
        plans: what is asked, one after the other.
        correcting: the entry that is corrected, which may be withdrawn instead.
        told: what there is to know of what is read in a row.
    """
    return tag(
        "div",
        tag(
            "div",
            tag("h1", title, tabindex="-1"),
            tag("p", tag("a", say("bench.to_list"), href="/bench")),
            class_="bench-head spread",
        ),
        tag("p", told, class_="told") if told else None,
        tag(
            "div",
            tag("div", _typing(), _how(), class_="paper bench-sheet", data_slot="sheet"),
            tag("div", _result(), class_="bench-aside"),
            class_="bench-desk",
        ),
        _kept(),
        _withdraw(correcting) if correcting is not None else None,
        class_="bench",
        data_way="bench",
        data_run=run,
        data_plans=json.dumps(plans, ensure_ascii=False),
        data_words=json.dumps(script_words(), ensure_ascii=False),
        data_book_uid=work.book.info.uid,
    )


def script_words() -> dict[str, str]:
    """What the script says, by name."""
    names = (key.removeprefix("bench.script.") for key in keys() if key.startswith("bench.script."))
    return {name: say(f"bench.script.{name}") for name in names}


def _slot(name: str, element: str = "div", **attributes: str | bool | None) -> Markup:
    return tag(element, data_slot=name, **attributes)


def _typing() -> Markup:
    """What is read now, the field, and the keys."""
    return tag(
        "form",
        *_asked(),
        _entry(),
        *_keys(),
        _slot("question", "div", role="alert"),
        tag(
            "div",
            tag("h3", say("bench.typed")),
            _slot("values", "ol", class_="bench-values"),
            data_slot="typed",
            hidden=True,
        ),
        id="bench-form",
        novalidate=True,
        class_="bench-form",
    )


def _asked() -> tuple[Markup, ...]:
    """What is read, and what there is to know of it."""
    before = _slot("before", "span", class_="bench-before")
    return (
        _slot("last", "p", class_="bench-last", hidden=True),
        tag("p", _slot("count", "span"), " ", before, class_="bench-count"),
        _slot("title", "h2", class_="bench-title", tabindex="-1"),
        _slot("about", "ul", class_="bench-about"),
        tag(
            "p",
            link(say("bench.choose_next"), "/bench", first=True),
            link(say("bench.see_standing"), "/"),
            data_slot="over",
            class_="row bench-over",
            hidden=True,
        ),
    )


def _entry() -> Markup:
    """The field, its pose large above it, what is wrong below."""
    box = tag(
        "input",
        id="bench-value",
        type="text",
        inputmode="decimal",
        enterkeyhint="enter",
        autocomplete="off",
        autocapitalize="off",
        spellcheck="false",
        aria_describedby="bench-unit bench-wrong",
        data_slot="value",
    )
    unit = _slot("unit", "span", id="bench-unit", class_="bench-unit")
    return tag(
        "div",
        _slot("place", "label", for_="bench-value", class_="bench-place"),
        tag("div", box, unit, class_="bench-field"),
        tag("p", id="bench-wrong", data_slot="wrong", role="alert", class_="wrong", hidden=True),
        class_="bench-entry",
    )


def _keys() -> tuple[Markup, ...]:
    """Keys that a glove can press, and figures for who has no other."""
    erase = say("bench.key_erase")
    figures = [_key("figure", one, label=erase if one == "⌫" else None, figure=one) for one in FIGURES]
    return (
        tag(
            "div",
            _key("back", say("bench.key_back")),
            _key("sign", "±", label=say("bench.key_sign")),
            _key("skip", say("bench.key_skip")),
            tag("button", say("bench.key_enter"), type="submit", class_="first"),
            class_="bench-keys",
        ),
        tag("div", *figures, class_="bench-pad", data_slot="pad", hidden=True),
        tag(
            "p",
            _key("pad", say("bench.pad_show"), quiet=True, slot="padkey"),
            _key("leave", say("bench.leave_out"), quiet=True, slot="leavekey"),
            class_="row bench-quiet",
        ),
    )


def _key(
    what: str,
    words: str,
    *,
    label: str | None = None,
    figure: str | None = None,
    quiet: bool = False,
    slot: str | None = None,
) -> Markup:
    return tag(
        "button",
        words,
        type="button",
        data_do=what,
        data_figure=figure,
        data_slot=slot,
        aria_label=label,
        class_="quiet" if quiet else None,
    )


def _how() -> Markup:
    """How it is read: gauge, repeats, temperatures; said in one line, and changed behind a lid."""
    stepper = tag(
        "div",
        tag("span", say("bench.repeats"), id="bench-repeats-label", class_="label"),
        tag(
            "div",
            _key("fewer", "−", label=say("bench.fewer")),
            tag("output", data_slot="repeats", aria_labelledby="bench-repeats-label"),
            _key("more", "+", label=say("bench.more")),
            class_="stepper",
        ),
        class_="field",
        data_slot="repeating",
    )
    gauge = tag(
        "div",
        tag("label", say("bench.gauge"), for_="bench-gauge"),
        tag("select", id="bench-gauge", data_slot="gauge"),
        class_="field",
    )
    ticks = [
        tag("div", tick(say(f"bench.{name}"), f"bench-{name}"), data_slot=f"tick-{name}")
        for name in ("deviations", "turned", "both_directions", "comma")
    ]
    return joined(
        _slot("how", "p", class_="bench-how"),
        more(
            say("bench.how"),
            tag(
                "div",
                gauge,
                stepper,
                tag(
                    "div",
                    field(say("bench.part_temperature"), "part_temperature", unit="°C", number=True),
                    data_slot="warm",
                ),
                tag(
                    "div",
                    field(say("bench.gauge_temperature"), "gauge_temperature", unit="°C", number=True),
                    data_slot="warm2",
                ),
                class_="fields",
            ),
            tag("div", *ticks, class_="bench-ticks"),
            field(say("bench.note"), "bench_note", hint=say("bench.note_hint")),
            id="bench-how",
        ),
    )


def _result() -> Markup:
    return joined(
        tag(
            "section",
            _slot("result", "div", aria_live="polite"),
            class_="paper bench-result",
            data_slot="answered",
            hidden=True,
        ),
        tag(
            "section",
            tag("h2", say("bench.in_a_row")),
            _slot("run", "ol", class_="bench-run"),
            class_="paper",
            data_slot="row",
        ),
    )


def _kept() -> Markup:
    """Readings that are not in the book yet."""
    return tag(
        "section",
        _slot("unsent", "h2"),
        tag("p", say("bench.unsent_note"), class_="note"),
        _slot("waiting", "ol", class_="bench-waiting"),
        class_="paper bench-unsent",
        data_slot="kept",
        aria_live="polite",
        hidden=True,
    )


def _withdraw(number: int) -> Markup:
    return tag(
        "section",
        tag("h2", say("bench.withdraw_title")),
        tag("p", say("bench.withdraw_note", number=number), class_="note"),
        form(
            "bench_withdraw",
            field(say("bench.withdraw_why"), "why", keep=f"withdraw/{number}", required=True),
            row(button(say("bench.withdraw", number=number))),
            tag("input", type="hidden", name="entry", value=str(number)),
            id="bench-withdraw",
        ),
        class_="paper",
    )


def live(work: Work, reader: Reader) -> Markup:
    """What the script must know of the book as it stands: its last entry, and the state of the machine."""
    bench = work.bench
    return tag("span", id="bench-live", data_last=str(bench.last), data_state=str(bench.state), hidden=True)
