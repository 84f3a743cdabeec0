"""One op of a route as a form: its fields as typed, what it cuts, where it stands; and new ops and surfaces."""

from collections.abc import Iterator, Mapping, Sequence
from zlib import crc32

from loopwright.buildfile.fields import Field, fields_of
from loopwright.errors import Problem
from loopwright.handbook.operations import OPS, operation
from loopwright.model.routes import FACES, ROUND
from loopwright.sheets.markup import Child, Markup, tag
from loopwright.studies.route_drafted import CutDraft, OpDraft, RouteDraft
from loopwright.studies.route_editing import LISTS
from loopwright.units import Dimension
from loopwright.web.views.description import Sheet
from loopwright.web.views.kit import button, more, paper, row
from loopwright.web.views.saying import problem_line
from loopwright.web.wording import say

FIRST = (
    "machine",
    "setup",
    "datum",
    "held",
    "tool",
    "minutes",
    "setting_up",
    "unattended",
    "together",
    "inspect",
    "gauge",
    "note",
)
"""Fields of every op, in the order in which a machinist thinks of them."""
HEAT = ("temperature", "hardness", "grows")
REST = ("as_one", "adds", *HEAT)
CUT_FIRST, CUT_REST = (
    ("measured_from", "size", "least", "tool", "thread"),
    ("depth", "width", "length", "adds"),
)
LENGTHS = ("size", "least", "depth", "width", "length")
_OP, _CUT = ("parts", "part", "route", "0"), ("parts", "part", "route", "0", "cuts", "surface")


def op_form(draft: RouteDraft, one: OpDraft, it: Sheet) -> Markup:
    """The form of the op that is open.

    Args:
        draft: the route.
        one: the op.
        it: what the page holds.
    """
    pen = _Pen(draft, it)
    heats = one.op in OPS and operation(one.op).heats
    first = (*FIRST[:-1], *(HEAT if heats else ()), FIRST[-1])
    usual = [name for name in first if name != "tool" or not heats]
    usual += [name for name in REST if name in one.fields and name not in usual]
    rest = [name for name in (*first, *REST) if name not in usual]
    known = {field.name: field for field in fields_of(_OP)}
    loose = [problem for problem in one.problems if problem.field == one.path]
    return tag(
        "div",
        tag("ul", *[tag("li", problem_line(p)) for p in loose], class_="description-wrong", role="alert")
        if loose
        else None,
        tag(
            "div",
            pen.op_name(one),
            *[pen.field(one.path, known[name], one.fields, one.problems) for name in usual],
            class_="description-fields",
        ),
        more(
            say("route.more_fields"),
            tag(
                "div",
                *[pen.field(one.path, known[name], one.fields, one.problems) for name in rest],
                class_="description-fields",
            ),
            id=f"route-rest-{pen.mark(one.path)}",
        )
        if rest
        else None,
        tag("h3", say("route.cuts")),
        *[_cut(pen, one, cut) for cut in one.cuts],
        _add_cut(draft, one),
        _foot(one),
        class_="route-form",
        id=f"route-form-{pen.mark(one.path)}",
    )


class _Pen:
    """Draws the fields of one form.

    Args:
        draft: the route.
        it: what the page holds.
    """

    def __init__(self, draft: RouteDraft, it: Sheet) -> None:
        self.draft, self.it = draft, it

    def mark(self, path: str) -> str:
        """Names something on the page."""
        return f"{self.it.generation}-{crc32(path.encode()):08x}"

    def op_name(self, one: OpDraft) -> Markup:
        """What is done, from the list of the trade."""
        path = f"{one.path}/op"
        where = f"r{self.mark(path)}"
        names = OPS if one.op in OPS else (one.op, *OPS)
        options = [tag("option", name, value=name, selected=name == one.op) for name in names]
        wrong = [_said(p) for p in one.problems if p.field == path]
        return tag(
            "div",
            tag("label", say("route.op"), for_=where),
            tag("select", *options, id=where, data_path=path),
            *[tag("span", said, class_="wrong") for said in wrong],
            class_="field",
        )

    def field(
        self, above: str, known: Field, typed: Mapping[str, str], problems: Sequence[Problem]
    ) -> Markup:
        """A field as it is typed, with what it means and what is wrong."""
        path = f"{above}/{known.name}"
        where, value = f"r{self.mark(path)}", typed.get(known.name, "")
        wrong = [_said(p) for p in problems if p.field == path or p.field.startswith(path + "/")]
        if self.it.refused is not None and self.it.refused.path == path:
            wrong.insert(0, f"{self.it.refused.what}; {self.it.refused.remedy}")
        given = {
            "id": where,
            "data_path": path,
            "aria_describedby": f"{where}-hint",
            "aria_invalid": "true" if wrong else None,
            "autocomplete": "off",
        }
        how = (
            say("route.with_commas")
            if known.name in LISTS
            else say("description.how", how=known.how)
            if known.how
            else ""
        )
        return tag(
            "div",
            tag("label", say(f"route.field.{known.name}"), for_=where),
            tag("div", self._box(known, value, given), self._unit(known), class_="with"),
            tag("span", known.note, class_="hint", id=f"{where}-hint"),
            tag("span", how, class_="how") if how else None,
            *[tag("span", said[:1].upper() + said[1:] + ".", class_="wrong") for said in wrong],
            class_="field wide" if known.name == "note" else "field",
        )

    def _box(self, known: Field, value: str, given: Mapping[str, str | None]) -> Markup:
        choices = ("true", "false") if known.name == "as_one" else known.choices
        if choices and known.name != "op":
            words = {"true": say("description.yes"), "false": say("description.no")}
            options = [
                tag("option", words.get(one, one), value=one, selected=one == value.lower())
                for one in choices
            ]
            none = tag("option", say("description.choose_none"), value="", selected=not value)
            return tag("select", none, *options, **given)
        if known.name == "note" and len(value) > 60:
            return tag("textarea", value, **given, rows=str(min(2 + len(value) // 90, 6)))
        return tag("input", **given, type="text", value=value or None, list=self._list(known.name))

    def _list(self, name: str) -> str | None:
        return f"route-names-{name}" if _names(self.draft).get(name) else None

    def _unit(self, known: Field) -> Markup | None:
        if known.name in ("minutes", "setting_up", "unattended"):
            return tag("span", say("route.min"), class_="unit")
        if known.name in LENGTHS or known.dimension is Dimension.LENGTH:
            unit = self.draft.unit
            return tag("span", unit, class_="unit", title=say("description.unit", unit=unit))
        return None


def _said(problem: Problem) -> str:
    return f"{problem.what}; {problem.remedy}"


def _cut(pen: _Pen, one: OpDraft, cut: CutDraft) -> Markup:
    known = {field.name: field for field in fields_of(_CUT)}
    rest = [name for name in CUT_REST if name not in cut.fields]
    shown = [name for name in (*CUT_FIRST, *CUT_REST) if name not in rest]
    loose = [problem for problem in cut.problems if problem.field == cut.path]

    def drawn(names: Sequence[str]) -> Markup:
        return tag(
            "div",
            *[pen.field(cut.path, known[name], cut.fields, cut.problems) for name in names],
            class_="description-fields",
        )

    return tag(
        "fieldset",
        tag("legend", cut.surface),
        *[tag("p", problem_line(problem), class_="wrong") for problem in loose],
        drawn(shown),
        more(say("route.more_of_cut"), drawn(rest), id=f"route-cut-{pen.mark(cut.path)}"),
        row(button(say("route.no_cut", surface=cut.surface), "description remove", quiet=True, of=cut.path)),
        class_="route-cut",
    )


def _add_cut(draft: RouteDraft, one: OpDraft) -> Markup:
    if not draft.surfaces:
        return tag("p", say("route.no_surfaces"), class_="note")
    if not one.uncut:
        return tag("p", say("route.every_surface"), class_="note")
    return _asking(
        "description cut",
        f"cut-{crc32(one.path.encode()):08x}",
        one.path,
        _select(
            "name",
            say("route.cuts_also"),
            {name: f"{name} ({draft.faces[name]})" for name in one.uncut},
            f"cut-{one.number}",
        ),
        button(say("route.add_cut")),
    )


def _foot(one: OpDraft) -> Markup:
    other = None
    if one.alternatives:
        other = tag(
            "p",
            say("route.or", ways=", ".join(one.alternatives)),
            " ",
            tag("a", say("route.or_where"), href="/description?show=text"),
            class_="note",
        )
    place = _asking(
        "description move",
        f"place-{crc32(one.path.encode()):08x}",
        one.path,
        _input("number", say("route.place"), str(one.number), say("route.place_hint"), f"place-{one.number}"),
        button(say("route.place_do")),
    )
    return tag(
        "footer",
        other,
        place,
        row(
            button(
                say("route.take_out", number=one.number, op=one.op),
                "description remove",
                quiet=True,
                of=one.path,
            )
        ),
        class_="route-foot",
    )


def add_op(draft: RouteDraft) -> Markup:
    """The form for one more op."""
    return paper(
        say("route.add"),
        _asking(
            "description op",
            "route-add",
            f"parts/{draft.part}/route",
            _select("name", say("route.op"), {name: name for name in OPS}, "new-op"),
            _input("number", say("route.add_at"), "", say("route.add_at_hint"), "new-at")
            if draft.ops
            else None,
            button(say("route.add_do"), first=not draft.ops and bool(draft.surfaces)),
        ),
        class_="route-add",
    )


def surfaces(draft: RouteDraft, it: Sheet) -> Markup:
    """The surfaces that ops cut, and between which of them each dim is measured."""
    pen, part = _Pen(draft, it), f"parts/{draft.part}"
    faces = [
        _plain(pen, f"{part}/surfaces/{name}", name, typed, draft.problems)
        for name, typed in draft.surfaces.items()
    ]
    dims = [
        _plain(pen, f"{part}/spans/{name}", name, typed, draft.problems, "surfaces")
        for name, typed in draft.dims.items()
    ]
    inside: list[Child] = [
        tag("p", say("route.surfaces_told"), class_="note"),
        tag("div", *faces, class_="description-fields") if faces else None,
        _asking(
            "description surface",
            "route-surface",
            part,
            _input("name", say("route.surface_name"), "", say("route.surface_hint"), "new-surface"),
            _select(
                "faces",
                say("route.faces"),
                {one: say(f"route.face.{one}") for one in (*FACES, *ROUND)},
                "new-faces",
            ),
            button(say("route.add_surface")),
        ),
        tag("h3", say("route.spans")) if dims else None,
        tag("p", say("route.spans_told"), class_="note") if dims else None,
        tag("div", *dims, class_="description-fields") if dims else None,
    ]
    # where the route is only begun it is open, and stays so while surfaces are added
    lid = tag(
        "details", tag("summary", say("route.surfaces")), *inside, id="route-surfaces", open=not draft.ops
    )
    return tag("section", lid, class_="paper route-surfaces")


def _plain(
    pen: _Pen, path: str, name: str, typed: str, problems: Sequence[Problem], listed: str = ""
) -> Markup:
    where = f"r{pen.mark(path)}"
    wrong = [_said(p) for p in problems if p.field == path or p.field.startswith(path + "/")]
    if pen.it.refused is not None and pen.it.refused.path == path:
        wrong.insert(0, f"{pen.it.refused.what}; {pen.it.refused.remedy}")
    return tag(
        "div",
        tag("label", name, for_=where),
        tag(
            "input",
            type="text",
            id=where,
            data_path=path,
            value=typed or None,
            autocomplete="off",
            aria_invalid="true" if wrong else None,
            list="route-names-datum" if listed else None,
        ),
        *[tag("span", said, class_="wrong") for said in wrong],
        class_="field",
    )


def _asking(act: str, where: str, of: str, *fields: Child) -> Markup:
    """A small form in a row."""
    return tag(
        "form",
        *fields,
        tag("input", type="hidden", name="of", value=of),
        data_act=act,
        id=where,
        novalidate=True,
        class_="route-asking",
    )


def _select(name: str, label: str, choices: Mapping[str, str], where: str) -> Markup:
    options = [tag("option", words, value=value) for value, words in choices.items()]
    return tag(
        "div",
        tag("label", label, for_=f"f-{where}"),
        tag("select", *options, id=f"f-{where}", name=name),
        class_="field",
    )


def _input(name: str, label: str, value: str, hint: str, where: str) -> Markup:
    numeric = "numeric" if name == "number" else None
    return tag(
        "div",
        tag("label", label, for_=f"f-{where}"),
        tag(
            "input",
            type="text",
            id=f"f-{where}",
            name=name,
            value=value or None,
            inputmode=numeric,
            autocomplete="off",
            aria_describedby=f"f-{where}-hint",
        ),
        tag("span", hint, class_="hint", id=f"f-{where}-hint"),
        class_="field",
    )


def _names(draft: RouteDraft) -> Mapping[str, Sequence[str]]:
    """Names that fields of an op offer."""
    here = list(draft.surfaces)
    return {
        "machine": draft.machines,
        "tool": draft.tools,
        "gauge": draft.gauges,
        "setup": draft.setups,
        "together": draft.sets,
        "datum": here,
        "measured_from": here,
        "inspect": [*draft.dims, *here],
    }


def lists(draft: RouteDraft, at: str) -> Iterator[Markup]:
    """The names that fields offer, once for the page; machines are those that can do the op that is open."""
    op = next((one.op for one in draft.ops if one.path == at), "")
    able = {"machine": draft.able.get(op) or draft.machines}
    for name, names in {**_names(draft), **able}.items():
        if names:
            yield tag("datalist", *[tag("option", value=one) for one in names], id=f"route-names-{name}")
