"""The description in forms: every field of the examples as typed, changed, added, taken out, and what it would do."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from loopwright.buildfile import examples
from loopwright.buildfile.editing import value_at
from loopwright.buildfile.fields import Look, entry_of, fields_of, meaning_of, sections
from loopwright.buildfile.yaml_text import parse
from loopwright.errors import BuildError, RequestError
from loopwright.model.build import Build
from loopwright.model.joints import Joint
from loopwright.model.notes import field_notes
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of, what_if_as_built
from loopwright.studies.edit_acts import (
    add_entry,
    add_field,
    add_to_list,
    name_anew,
    set_field,
    take_out,
    written_as,
)
from loopwright.studies.edit_effect import (
    count_of_readings,
    difference_of,
    effect_of_text,
    newest,
    put_together,
    ready_to_save,
    with_text,
)
from loopwright.studies.edit_form import Form, Slot, checked, entry_path, form_at, names_for, outline
from loopwright.studies.example_history import open_example

TEXTS = {name: examples.text(name) for name in examples.names()}
GANTRY = TEXTS["guitar-gantry"]
CLOCK = TEXTS["clock-plate"]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """The clock-plate machine with its invented history."""
    with open_example("clock-plate", Path(tmp_path_factory.mktemp("edit"), "clock-plate.book")) as book:
        return bench_of(book)


def every_form(text: str) -> Iterator[Form]:
    """The forms of every entry, those within joints too."""
    paths = [line.path for section in outline(text) for line in section.lines]
    paths += [line.path for slot in every_slot(form_at(text, "").slots) for line in slot.lines]
    while paths:
        form = form_at(text, paths.pop())
        yield form
        paths += [line.path for slot in every_slot(form.slots) for line in slot.lines]


def every_slot(slots: tuple[Slot, ...]) -> Iterator[Slot]:
    """Fields with the fields in them."""
    for slot in slots:
        yield slot
        yield from every_slot(slot.slots)


# ------------------------------------------------------------------------------------------ what the format has


def test_every_field_of_the_format_has_its_meaning() -> None:
    """As the reference of the build file gives it."""
    assert {field.name: field.note for field in fields_of(("joints", "any"))} == field_notes(Joint)
    assert [field.name for field in fields_of(())] == [n for n in Build.model_fields if n != "format"]
    assert all(field.note for section in sections() for field in fields_of((section, "any")))


def test_how_a_field_is_written_is_told() -> None:
    """Limits as limits, a class as a class, a direction as a direction."""
    dim = entry_of(("parts", "p", "dims"))
    assert dim is not None
    assert "25 H7" in dim.how
    assert meaning_of(("gauges", "g")) == "An instrument."
    contact = {field.name: field for field in fields_of(("joints", "j", "contacts", "c"))}
    assert contact["deviation"].dimension is not None
    assert contact["deviation"].dimension.value == "length"
    assert contact["at"].labels == ("X", "Y", "Z")
    assert contact["at"].required
    kind = next(
        field for field in fields_of(("joints", "j", "contacts", "c", "adjust")) if field.name == "kind"
    )
    assert kind.look is Look.CHOICE
    assert "jack screw" in kind.choices


# ------------------------------------------------------------------------------------------ forms of the examples


@pytest.mark.parametrize("example", sorted(TEXTS))
def test_every_value_stands_in_a_form_as_it_was_typed(example: str) -> None:
    """Every single value of the file is the text of one field; none is shown twice."""
    text = TEXTS[example]
    data = parse(text).data
    shown = {
        slot.path: slot.typed for form in every_form(text) for slot in every_slot(form.slots) if slot.typed
    }
    shown |= {slot.path: slot.typed for slot in every_slot(form_at(text, "").slots) if slot.typed}
    for path, typed in shown.items():
        value = value_at(data, path.split("/"))
        if isinstance(value, str):
            assert typed == value
    lost = []

    def look(value: object, path: str) -> None:
        if path in shown or path == "format":
            return
        if isinstance(value, dict):
            for key, inside in value.items():
                look(inside, f"{path}/{key}" if path else str(key))
        elif isinstance(value, list):
            for number, inside in enumerate(value):
                look(inside, f"{path}/{number}")
        elif value is not None:
            lost.append(path)

    look(data, "")
    assert lost == []


def test_typing_what_stands_there_changes_nothing() -> None:
    """Field by field, the text stays to the letter."""
    forms = list(every_form(GANTRY))
    for form in forms[::4]:
        for slot in every_slot(form.slots):
            if slot.typed and slot.look is not Look.WORDS:
                assert set_field(GANTRY, slot.path, slot.typed).text == GANTRY, slot.path


def test_a_mistake_stands_at_its_field_and_at_its_entry() -> None:
    """With what is wrong, what would do, and its line; the list of entries counts it."""
    out = set_field(GANTRY, "parts/upright_left/dims/height", "6.5 ±5 thoo").text
    form = form_at(out, "parts/upright_left")
    (slot,) = [one for one in every_slot(form.slots) if one.problems]
    assert slot.path == "parts/upright_left/dims/height"
    assert slot.typed == "6.5 ±5 thoo"
    assert "thoo" in slot.problems[0].what
    assert slot.problems[0].line == form.line
    counts = {line.path: line.problems for section in outline(out) for line in section.lines}
    assert counts["parts/upright_left"] == 1
    assert sum(counts.values()) == 1


def test_what_lacks_is_said_at_the_field_that_lacks() -> None:
    """A contact without a place."""
    out = take_out(CLOCK, "joints/column on base/contacts/rear stop/at").text
    form = form_at(out, "joints/column on base/contacts/rear stop")
    (slot,) = [one for one in form.slots if one.problems]
    assert (slot.label, slot.given, slot.field.required) == ("at", False, True)


def test_what_repeats_another_place_says_so() -> None:
    """The foil of four pads is written once."""
    first = {
        slot.label: slot.repeated
        for slot in form_at(CLOCK, "joints/column on base/contacts/front left").slots
    }
    other = {
        slot.label: slot.repeated for slot in form_at(CLOCK, "joints/column on base/contacts/rear left").slots
    }
    assert (first["adjust"], other["adjust"]) == (3, -1)
    out = set_field(CLOCK, "joints/column on base/contacts/rear left/adjust/range", "0…0.3").text
    changes = difference_of(CLOCK, out).changes
    assert [change.path for change in changes] == ["joints/column on base/contacts/rear left/adjust/range"]


def test_a_field_that_the_file_calls_otherwise_is_found() -> None:
    """'sweep' is another word for 'over'."""
    slot = next(one for one in form_at(CLOCK, "tests/X straight in Y").slots if one.label == "over")
    assert slot.path == "tests/X straight in Y/sweep"
    assert [inside.typed for inside in slot.slots] == ["[0, 320, 40]"]


def test_where_an_entry_is_named_is_told() -> None:
    """A dim in its setup and in its contact; a joint in the fit-up."""
    assert dict(form_at(CLOCK, "parts/pad_FL").used_in).keys() == {
        "made_together/column pads",
        "bodies/column",
        "joints/column on base/contacts/front left",
    }
    assert form_at(CLOCK, "joints/column on base").used_in[0][1].startswith("7. shim")


def test_what_is_no_entry_is_refused() -> None:
    """A path that leads nowhere, and a text that is no text of a build."""
    with pytest.raises(RequestError, match="there is no"):
        form_at(CLOCK, "parts/nothing")
    with pytest.raises(RequestError, match="cannot be read"):
        form_at("name: [", "parts")
    assert checked("name: [").problems
    assert outline("name: [")[0].lines == ()


def test_names_are_offered_where_names_are_wanted() -> None:
    """Bodies for a joint, dims with a sign for a contact, rails of the block's own guide."""
    assert "column" in names_for(CLOCK, "bodies", "joints/Y slide/parent")
    assert "+pad_FL/height" in names_for(
        CLOCK, "signed dims", "joints/column on base/contacts/front left/dims/0"
    )
    assert names_for(CLOCK, "rails", "joints/Y slide/guide/blocks/left front/rail") == ("A", "B")
    assert "Y slide/guide/rails/B/side" in names_for(CLOCK, "adjusters", "fit_up/1/adjust/0")
    assert "tool steel O1" in names_for(CLOCK, "materials", "parts/base/material")
    assert (
        entry_path("joints/Y slide/guide/blocks/left front/side/dims/0")
        == "joints/Y slide/guide/blocks/left front"
    )


# ------------------------------------------------------------------------------------------ changing


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("12 ±0.005", "12 ±0.005"),
        ("5 thou", "5 thou"),
        ("true", "true"),
        ("12.50", "12.50"),
        ("{std: 0.5 µm}", "{std: 0.5 µm}"),
        ("left: of it", '"left: of it"'),
        ("12 # twelve", '"12 # twelve"'),
        ("*foil", '"*foil"'),
        ("&x 5", '"&x 5"'),
    ],
)
def test_what_is_typed_is_written_so_that_it_reads_as_typed(typed: str, written: str) -> None:
    """Quotes come where YAML would take it for something else."""
    assert written_as(typed, None) == written


def test_a_note_stays_words_whatever_it_looks_like() -> None:
    """A number, brackets, several lines."""
    for typed in ("12", "[a", "yes: no", "one\ntwo", "{"):
        out = set_field(GANTRY, "gauges/dial indicator/note", typed).text
        assert value_at(parse(out).data, ["gauges", "dial indicator", "note"]) == typed


def test_brackets_that_do_not_close_are_refused_with_what_would_do() -> None:
    """The text stays as it was, so what was typed can stay in its field."""
    with pytest.raises(RequestError) as caught:
        set_field(GANTRY, "targets/carved surface/over/X", "[0, 22")
    assert "close" in caught.value.remedy


@pytest.mark.parametrize("example", sorted(TEXTS))
@pytest.mark.parametrize("section", [s for s in sections() if s not in ("bodies", "joints", "closures")])
def test_a_new_entry_is_sound(example: str, section: str) -> None:
    """It begins with what the build has, so that there is nothing wrong with it but what only its maker knows."""
    edited = add_entry(TEXTS[example], section, "a new one")
    assert checked(edited.text).problems == ()
    assert form_at(edited.text, edited.path).removable
    assert take_out(edited.text, edited.path).text == TEXTS[example] or section == "materials"


def test_a_new_entry_like_another_is_its_copy() -> None:
    """Also a step of the fit-up, with its own name."""
    out = add_entry(CLOCK, "parts", "pad_FM", like="pad_FL")
    assert value_at(parse(out.text).data, ["parts", "pad_FM"]) == value_at(
        parse(CLOCK).data, ["parts", "pad_FL"]
    )
    step = add_entry(CLOCK, "fit_up", "shim it again", like="shim the column upright")
    assert value_at(parse(step.text).data, ["fit_up", "9", "accept"]) == "4 µm"
    assert step.path == "fit_up/9"


@pytest.mark.parametrize(
    ("section", "name", "what"),
    [
        ("parts", "base", "already"),
        ("parts", "", "no name"),
        ("parts", "a/b", "'/'"),
        ("nowhere", "a", "no 'nowhere'"),
    ],
)
def test_an_entry_that_cannot_be_is_refused(section: str, name: str, what: str) -> None:
    """It has a name, one of its own, and a place."""
    with pytest.raises(RequestError, match=what):
        add_entry(CLOCK, section, name)


def test_fields_that_consist_of_others_begin_with_something() -> None:
    """An adjuster, a lead error, a new entry of a list."""
    out = add_field(CLOCK, "joints/column on base/contacts/rear stop/adjust").text
    assert checked(out).problems == ()
    listed = add_to_list(out, "bodies/base/parts", "clock_plate").text
    assert value_at(parse(listed).data, ["bodies", "base", "parts"])[-1] == "clock_plate"


def test_an_empty_field_is_taken_out() -> None:
    """What is left out has its default."""
    out = set_field(CLOCK, "joints/column on base/contacts/rear stop/preload", "  ").text
    assert value_at(parse(out).data, ["joints", "column on base", "contacts", "rear stop", "preload"]) is None
    assert checked(out).problems == ()


# ------------------------------------------------------------------------------------------ what it would do


def test_the_effect_is_that_of_the_what_if(built: Bench) -> None:
    """The same figures as when the value is asked for by itself."""
    path, value = "targets/hole position/limit", "8 µm"
    other = what_if_as_built(built, {path: value})
    found = effect_of_text(built, set_field(newest(built).text, path, value).text)
    assert [t.after for t in found.targets] == list(other.after.targets)
    assert [t.before for t in found.targets] == list(other.before.targets)
    assert found.lost == ()


def test_readings_that_would_be_lost_are_named(built: Bench) -> None:
    """A dim under another name is another dim to the book."""
    text = newest(built).text
    out = name_anew(text, "parts/post_FL/dims/height", "thickness").text
    counted = count_of_readings(built, "parts/post_FL/dims/height")
    found = effect_of_text(built, out)
    assert counted == len(found.lost) > 0
    assert all("post_FL/height" in why for _, _, why in found.lost)
    assert [c.renamed for c in difference_of(text, out).changes][:1] == [True]


def test_a_target_that_comes_or_goes_is_said(built: Bench) -> None:
    """On one side only."""
    text = newest(built).text
    out = name_anew(text, "targets/depth of spotting", "depth").text
    found = {t.name: (t.before is None, t.after is None) for t in effect_of_text(built, out).targets}
    assert found["depth of spotting"] == (False, True)
    assert found["depth"] == (True, False)


def test_only_what_can_stand_is_saved(built: Bench) -> None:
    """Not what is there already, not mistakes, not what the book's own entries cannot stand with."""
    text = newest(built).text
    with pytest.raises(RequestError, match="already"):
        ready_to_save(built, text)
    with pytest.raises(BuildError):
        ready_to_save(
            built, take_out(text, "bodies/saddle/parts/0").text.replace("[160, 110, -28]", "[1, 2]")
        )
    renamed = name_anew(text, "joints/column on base/contacts/front left", "left at the front").text
    with pytest.raises(RequestError, match="nothing to set"):
        with_text(built, renamed)
    assert ready_to_save(built, set_field(text, "note", "said anew").text).entry == newest(built).entry


def test_what_two_people_changed_goes_together() -> None:
    """Different lines go together; the same line is told, and mine stands."""
    mine = set_field(GANTRY, "targets/carved surface/limit", "4 thou").text
    theirs = set_field(GANTRY, "parts/upright_left/dims/height", "6.6 ±5 thou").text
    both = put_together(GANTRY, mine, theirs)
    assert both.clashes == ()
    assert both.problems == 0
    assert difference_of(theirs, both.text).changes == difference_of(GANTRY, mine).changes
    other = set_field(GANTRY, "targets/carved surface/limit", "6 thou").text
    clashing = put_together(GANTRY, mine, other)
    assert len(clashing.clashes) == 1
    assert value_at(parse(clashing.text).data, ["targets", "carved surface", "limit"]) == "4 thou"
