"""One entry of the description as a form: every field as it was typed, what it means, and what is wrong with it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import quote
from zlib import crc32

from loopwright.buildfile.fields import Field, Look, entry_of
from loopwright.errors import Problem
from loopwright.model.build import Units
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.edit_effect import count_of_readings
from loopwright.studies.edit_form import Form, Line, Slot, form_at, names_for
from loopwright.web.views.kit import button, more, paper, row
from loopwright.web.views.saying import problem_line
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_LINES = 30
MOST_NAMES = 400
"""Names that a field offers."""
LONG = 70
"""Letters from which on words get several lines."""


@dataclass
class _Pen:
    """What is needed for every field of one form.

    Attributes:
        text: of the description.
        units: of the build.
        generation: makes all fields anew when it changes.
        refused: path and words of what could not be taken.
        lists: names that fields offer, by what they are names of.
    """

    text: str
    units: Units
    generation: int
    refused: tuple[str, str] | None
    lists: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def id(self, path: str, more: str = "") -> str:
        """Names a field on the page."""
        return f"d{self.generation}-{crc32(path.encode()):08x}{more}"

    def names(self, what: str, path: str) -> str | None:
        """Number of the list of names that a field offers."""
        if not what:
            return None
        key = f"{what} {path.split('/')[1]}" if what in ("rails", "contacts") else what
        if key not in self.lists:
            self.lists[key] = names_for(self.text, what, path)[:MOST_NAMES]
        return f"names-{crc32(key.encode()):08x}" if self.lists[key] else None


def form_of(
    work: Work, reader: Reader, text: str, path: str, generation: int, refused: tuple[str, str] | None
) -> Markup:
    """The form of an entry, or of a section.

    Args:
        work: the open book.
        reader: who looks.
        text: of the description as it is being changed.
        path: of the entry; '' is the head of the file.
        generation: makes all fields anew when it changes.
        refused: path and words of what could not be taken.

    Raises:
        RequestError: there is no such entry.
    """
    form = form_at(text, path)
    pen = _Pen(text, work.bench.build.units, generation, refused)
    name = form.name or say("description.head_of_file")
    title = say(f"description.name_{path}") if path and "/" not in path and _is_section(form) else name
    body = _slots(pen, form.slots, inside=False)
    return tag(
        "div",
        paper(
            None,
            _crumbs(form),
            tag("h2", title, tabindex="-1", id="description-entry"),
            tag("p", _meaning(form), class_="lede") if _meaning(form) else None,
            _problems(form.problems),
            body,
            _entry_tools(work, pen, form) if path else None,
            class_="description-form",
            id=f"form-{crc32(path.encode()):08x}",
        ),
        *[
            tag(
                "datalist",
                *[tag("option", value=one) for one in names],
                id=f"names-{crc32(key.encode()):08x}",
            )
            for key, names in pen.lists.items()
        ],
    )


def _is_section(form: Form) -> bool:
    return len(form.slots) == 1 and form.slots[0].path == form.path


def _meaning(form: Form) -> str:
    return form.slots[0].field.note if _is_section(form) else form.meaning


def _crumbs(form: Form) -> Markup | None:
    if not form.crumbs:
        return None
    ways = [
        tag("li", open_way(path, say(f"description.name_{name}") if "/" not in path else words(name)))
        for path, name in form.crumbs
    ]
    return tag("ol", *ways, class_="description-crumbs")


def open_way(path: str, word: str) -> Markup:
    """A word that opens an entry."""
    return tag("button", word, type="button", class_="plain", data_act="description open", data_of=path)


def words(name: str) -> str:
    """A field's name as people read it."""
    return name.replace("_", " ")


def _problems(problems: Sequence[Problem]) -> Markup | None:
    if not problems:
        return None
    return tag(
        "ul", *[tag("li", problem_line(p)) for p in problems], class_="description-wrong", role="alert"
    )


# fields


def _slots(pen: _Pen, slots: Sequence[Slot], *, inside: bool) -> Markup:
    shown = [slot for slot in slots if _matters(pen, slot)]
    left = [slot for slot in slots if not _matters(pen, slot)]
    folded = None
    if left:
        name = f"{pen.id(left[0].path)}-left"
        rest = tag("div", *[_slot(pen, slot) for slot in left], class_="description-fields")
        folded = more(say("description.left_out", count=len(left)), rest, id=name)
    made = tag("div", *[_slot(pen, slot) for slot in shown], class_="description-fields")
    return joined(made if shown else None, folded)


def _matters(pen: _Pen, slot: Slot) -> bool:
    refused = pen.refused is not None and pen.refused[0] == slot.path
    return slot.given or slot.field.required or bool(slot.problems) or refused


def _slot(pen: _Pen, slot: Slot) -> Markup:
    match slot.look:
        case Look.RECORD:
            return _record(pen, slot)
        case Look.ENTRIES:
            return _entries(pen, slot)
        case Look.LIST:
            return _list(pen, slot)
    return _single(pen, slot)


def _single(pen: _Pen, slot: Slot) -> Markup:
    """A field with one value."""
    where, wrong = pen.id(slot.path), _wrong(pen, slot)
    hint, how = pen.id(slot.path, "-hint"), pen.id(slot.path, "-how")
    given = {
        "id": where,
        "data_path": slot.path,
        "aria_describedby": " ".join((hint, how)),
        "aria_invalid": "true" if wrong else None,
        "autocomplete": "off",
    }
    return tag(
        "div",
        tag("label", words(slot.label), _needed(slot.field), for_=where),
        tag("div", _box(pen, slot, given), _unit(pen, slot), class_="with"),
        tag("span", slot.field.note, class_="hint", id=hint) if slot.field.note else tag("span", id=hint),
        _how(slot, how),
        _shared(slot),
        *[tag("span", said, class_="wrong") for said in wrong],
        class_="field wide" if slot.look is Look.WORDS else "field",
    )


def _box(pen: _Pen, slot: Slot, given: Mapping[str, str | None]) -> Markup:
    if slot.look in (Look.CHOICE, Look.YES_NO):
        return _choice(slot, given)
    if slot.look is Look.WORDS and len(slot.typed) > LONG:
        rows = min(max(2, len(slot.typed) // LONG + 1), 10)
        return tag("textarea", slot.typed, **given, rows=str(rows))
    default = say("description.default", default=slot.field.default) if slot.field.default else None
    return tag(
        "input",
        **given,
        type="text",
        value=slot.typed or None,
        placeholder=None if slot.given else default,
        list=pen.names(slot.field.names, slot.path),
    )


def _choice(slot: Slot, given: Mapping[str, str | None]) -> Markup:
    if slot.look is Look.YES_NO:
        choices = {"true": say("description.yes"), "false": say("description.no")}
        typed = {"yes": "true", "no": "false", "True": "true", "False": "false"}.get(slot.typed, slot.typed)
    else:
        choices, typed = {one: one for one in slot.field.choices}, slot.typed
    if typed and typed not in choices:
        choices = {typed: typed, **choices}
    if not slot.field.required or not typed:
        default = choices.get(slot.field.default, slot.field.default)
        left = say("description.default", default=default) if default else say("description.choose_none")
        choices = {"": left, **choices}
    options = [tag("option", word, value=value, selected=value == typed) for value, word in choices.items()]
    return tag("select", *options, **given)


def _needed(known: Field) -> Markup | None:
    return tag("small", f" {say('description.required')}", class_="needed") if known.required else None


def _unit(pen: _Pen, slot: Slot) -> Markup | None:
    dimension = slot.field.dimension
    unit = None if dimension is None else pen.units.bare().get(dimension)
    if unit is None or unit == "1":
        return None
    unit = unit.replace("degC", "°C")
    return tag("span", unit, class_="unit", title=say("description.unit", unit=unit))


def _how(slot: Slot, where: str) -> Markup:
    return tag(
        "span", say("description.how", how=slot.field.how) if slot.field.how else None, class_="how", id=where
    )


def _shared(slot: Slot) -> Markup | None:
    if not slot.repeated:
        return None
    said = (
        say("description.repetition") if slot.repeated < 0 else plural("description.repeated", slot.repeated)
    )
    return tag("span", said, class_="hint shared")


def _wrong(pen: _Pen, slot: Slot) -> list[str]:
    said = [f"{problem.what}; {problem.remedy}" for problem in slot.problems]
    if pen.refused is not None and pen.refused[0] == slot.path:
        said.insert(0, pen.refused[1])
    return [one[:1].upper() + one[1:] + "." for one in said]


def _record(pen: _Pen, slot: Slot) -> Markup:
    """A field that consists of others."""
    if not slot.given:
        return _absent(pen, slot)
    return tag(
        "fieldset",
        tag("legend", words(slot.label), _needed(slot.field)),
        tag("p", slot.field.note, class_="hint") if slot.field.note else None,
        _shared(slot),
        _problems(slot.problems),
        _slots(pen, slot.slots, inside=True),
        None if slot.field.required else row(_remove(slot.path, _out_words(words(slot.label)))),
        class_="description-record",
    )


def _absent(pen: _Pen, slot: Slot) -> Markup:
    add = button(say("description.add_field", name=words(slot.label)), "description field", of=slot.path)
    wrong = [tag("span", said, class_="wrong") for said in _wrong(pen, slot)]
    return tag(
        "div",
        add,
        tag("span", slot.field.note, class_="hint") if slot.field.note else None,
        *wrong,
        class_="field absent",
    )


def _out_words(name: str) -> str:
    return say("description.remove_item", name=name)


def _remove(path: str, word: str) -> Markup:
    return button(word, "description remove", quiet=True, of=path)


def _list(pen: _Pen, slot: Slot) -> Markup:
    """A list, each entry in a field of its own."""
    fixed = bool(slot.field.labels)
    if not slot.given and fixed:
        return _single_list(pen, slot)
    items = [_item(pen, one, fixed) for one in slot.slots]
    full = slot.field.most is not None and len(items) >= slot.field.most
    more_of = None if full or fixed else _append(pen, slot)
    return tag(
        "fieldset",
        tag("legend", words(slot.label), _needed(slot.field)),
        tag("p", slot.field.note, class_="hint") if slot.field.note else None,
        _shared(slot),
        tag("div", *items, class_="description-items few" if fixed else "description-items"),
        more_of,
        *[tag("span", said, class_="wrong") for said in _wrong(pen, slot)],
        class_="description-list",
    )


def _single_list(pen: _Pen, slot: Slot) -> Markup:
    """A list that is not there yet, typed at once."""
    single = Slot(slot.path, slot.field, slot.label, slot.given, Look.TEXT, problems=slot.problems)
    return _single(pen, single)


def _item(pen: _Pen, slot: Slot, fixed: bool) -> Markup:
    where, wrong = pen.id(slot.path), _wrong(pen, slot)
    box = tag(
        "input",
        id=where,
        type="text",
        value=slot.typed or None,
        data_path=slot.path,
        autocomplete="off",
        aria_invalid="true" if wrong else None,
        list=pen.names(slot.field.names, slot.path),
    )
    out = None if fixed else _out_of_list(slot)
    return tag(
        "div",
        tag("label", slot.label, for_=where),
        tag("div", box, _unit(pen, slot) if fixed else None, out, class_="with"),
        *[tag("span", said, class_="wrong") for said in wrong],
        class_="field",
    )


def _out_of_list(slot: Slot) -> Markup:
    name = say("description.remove_item", name=slot.typed or slot.label)
    return tag(
        "button",
        "\N{MULTIPLICATION SIGN}",
        type="button",
        class_="quiet sign",
        data_act="description remove",
        data_of=slot.path,
        aria_label=name,
        title=name,
    )


def _append(pen: _Pen, slot: Slot) -> Markup:
    where = pen.id(slot.path, "-more")
    listed = pen.names(_entry_names(slot), f"{slot.path}/0")
    return tag(
        "form",
        tag("label", say("description.add_item"), for_=where),
        tag(
            "div",
            tag("input", id=where, name="typed", type="text", autocomplete="off", list=listed),
            tag("button", say("description.add"), type="submit"),
            class_="with",
        ),
        tag("input", type="hidden", name="of", value=slot.path),
        data_act="description append",
        class_="field adding",
        id=f"{where}-form",
    )


def _entry_names(slot: Slot) -> str:
    inside = entry_of(slot.path.split("/"))
    return inside.names if inside is not None else ""


def _entries(pen: _Pen, slot: Slot) -> Markup:
    """Named entries: single values each in a field, others each with a form of its own."""
    lines = [_line(line) for line in slot.lines[:MOST_LINES]]
    left = len(slot.lines) - MOST_LINES
    rest = tag("p", say("description.more_entries", count=left), class_="note") if left > 0 else None
    inline = [_named(pen, one) for one in slot.slots]
    return tag(
        "fieldset",
        tag("legend", words(slot.label)),
        tag("p", slot.field.note, class_="hint") if slot.field.note else None,
        _shared(slot),
        _problems(slot.problems),
        tag("ul", *lines, class_="description-lines") if lines else None,
        rest,
        tag("div", *inline, class_="description-items named") if inline else None,
        _add(pen, slot),
        class_="description-list",
    )


def _line(line: Line) -> Markup:
    wrong = (
        tag("span", plural("description.problems", line.problems), class_="wrong-count")
        if line.problems
        else None
    )
    return tag("li", open_way(line.path, line.name), wrong, tag("span", line.summary, class_="summary"))


def _named(pen: _Pen, slot: Slot) -> Markup:
    """A named value, such as a dim: its name, its value as typed, and the way to rename it or take it out."""
    where, wrong = pen.id(slot.path), _wrong(pen, slot)
    box = tag(
        "input",
        id=where,
        type="text",
        value=slot.typed or None,
        data_path=slot.path,
        autocomplete="off",
        aria_invalid="true" if wrong else None,
    )
    return tag(
        "div",
        tag("label", slot.label, for_=where),
        tag(
            "div",
            box,
            _rename_way(slot),
            _out_of_list(slot),
            class_="with",
        ),
        *[tag("span", said, class_="wrong") for said in wrong],
        class_="field",
    )


def _rename_way(slot: Slot) -> Markup:
    word = say("description.rename")
    return tag(
        "button",
        word,
        type="button",
        class_="quiet",
        data_act="description open",
        data_of=slot.path,
        aria_label=f"{word}: {slot.label}",
    )


def _add(pen: _Pen, slot: Slot) -> Markup:
    where = pen.id(slot.path, "-new")
    step = slot.path == "fit_up"
    likes = [line.name for line in slot.lines] or [one.label for one in slot.slots]
    if step:
        likes = [name.partition(". ")[2] for name in likes]
    options = [tag("option", say("description.add_like_none"), value="")]
    options += [tag("option", name, value=name) for name in likes[:MOST_NAMES]]
    like = (
        tag(
            "div",
            tag("label", say("description.add_like"), for_=f"{where}-like"),
            tag("select", *options, id=f"{where}-like", name="like"),
            class_="field",
        )
        if likes
        else None
    )
    return tag(
        "form",
        tag(
            "div",
            tag("label", say("description.add_step" if step else "description.add_name"), for_=where),
            tag("input", id=where, name="name", type="text", autocomplete="off", maxlength="80"),
            class_="field",
        ),
        like,
        tag("input", type="hidden", name="of", value=slot.path),
        tag("button", say("description.add_to", name=words(slot.label)), type="submit"),
        data_act="description add",
        class_="adding row",
        id=f"{where}-form",
    )


# the entry as a whole


def _entry_tools(work: Work, pen: _Pen, form: Form) -> Markup:
    where = pen.id(form.path, "-name")
    readings = count_of_readings(work.bench, form.path)
    caution = tag("p", plural("description.readings", readings), class_="hint shared") if readings else None
    rename = None
    if form.named:
        rename = tag(
            "form",
            tag("label", say("description.rename"), for_=where),
            tag(
                "div",
                tag(
                    "input",
                    id=where,
                    name="name",
                    type="text",
                    value=form.name,
                    autocomplete="off",
                    maxlength="80",
                ),
                tag("button", say("description.rename_do"), type="submit"),
                class_="with",
            ),
            tag("span", say("description.rename_hint"), class_="hint"),
            tag("input", type="hidden", name="of", value=form.path),
            data_act="description rename",
            data_after="stay",
            class_="field",
            id=f"{where}-form",
        )
    ways: list[Child] = []
    if form.removable:
        ways.append(_remove(form.path, say("description.remove")))
    ways += _elsewhere(form)
    return tag("footer", rename, caution, _used(form), row(*ways), class_="description-entry")


def _used(form: Form) -> Markup | None:
    if not form.uses:
        return None
    items = [
        tag("li", open_way(path, say("description.used_as", section=_section_name(path), name=name)))
        for path, name in form.used_in
    ]
    left = form.uses - len(items)
    rest = tag("li", say("description.used_more", count=left), class_="note") if left > 0 else None
    return tag(
        "div", tag("h4", say("description.used_in")), tag("ul", *items, rest, class_="description-uses")
    )


def _section_name(path: str) -> str:
    return say(f"description.name_{path.partition('/')[0]}")


def _elsewhere(form: Form) -> list[Child]:
    keys = form.path.split("/")
    out: list[Child] = []
    if keys[0] == "joints" and len(keys) > 1:
        out.append(_page(say("description.on_machine"), f"/machine/{quote(keys[1], safe='')}"))
    if keys[0] == "bodies" and len(keys) == 2:
        out.append(_page(say("description.on_machine"), f"/machine?pick={quote(f'body/{keys[1]}', safe='')}"))
    if keys[0] == "parts" and len(keys) > 1:
        out.append(_page(say("description.part_page"), f"/parts/{quote(keys[1], safe='')}"))
    if form.line is not None:
        word = say("description.line_of", line=form.line)
        out.append(
            tag(
                "button",
                word,
                type="button",
                class_="quiet",
                data_act="description line",
                data_line=str(form.line),
            )
        )
    return out


def _page(word: str, path: str) -> Markup:
    return tag("a", word, href=path, class_="button quiet")
