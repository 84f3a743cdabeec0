"""Any op of any part can be asked for its cutting data: an answer or a refusal in words, and nothing else."""

from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from cut_parts import build as cut_build
from loopwright.buildfile import examples, read_text
from loopwright.errors import LoopwrightError
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import CutData
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut, Op
from made_parts import BRACKET, GAUGES, PADS, RING, text

MATERIALS = (
    *(
        "tool steel O1",
        "tool steel D2",
        "low carbon steel",
        "cast aluminium",
        "grey cast iron",
        "stainless steel 304",
    ),
    *("titanium", "brass", "copper", "PTFE", "acetal", "phenolic fabric", "granite", "unheard of", None),
)
LENGTHS = st.one_of(st.none(), st.floats(1e-9, 1e-3), st.floats(1e-3, 500))
THREADS = st.sampled_from((None, "M6", "M3x0.35", "M20x1.5-6H", "1/4-20 UNC"))


@cache
def builds() -> tuple[Build, ...]:
    """Small builds with ops of every kind, and the examples of the project."""
    own = (cut_build(), read_text(text(RING, BRACKET, PADS, head=GAUGES)))
    return (*own, *(read_text(examples.text(name)) for name in examples.names()))


def ops() -> list[tuple[Build, str, int]]:
    """Every op of every part of them."""
    return [
        (build, name, index)
        for build in builds()
        for name, part in build.parts.items()
        for index in range(len(part.route))
    ]


@st.composite
def any_op(draw: st.DrawFn) -> tuple[Build, str, int, dict[str, float], dict[str, float]]:
    """An op with its tool, machine, holding, sizes, thread, material, blank and surfaces exchanged or left out."""
    build, name, index = draw(st.sampled_from(ops()))
    part = build.parts[name]
    shop, op = build.shop, part.route[index]
    tools, machines = (st.sampled_from((None, *found)) for found in (shop.tools, shop.machines))
    cuts = {surface: _cut(draw, cut, tools) for surface, cut in op.cuts.items()}
    update: dict[str, object] = {"cuts": cuts}
    if draw(st.booleans()):
        update |= {"tool": draw(tools), "machine": draw(machines)}
        update["held"] = draw(st.sampled_from(("chuck", "centres", "magnet", "free", None)))
    route: list[Op] = [*part.route]
    route[index] = op.model_copy(update=update)
    build = build.model_copy(update={"parts": {**build.parts, name: _part(draw, part, route)}})
    stock, limits = (
        {surface: draw(st.floats(1e-7, 100)) for surface in cuts if draw(st.booleans())} for _ in range(2)
    )
    return build, name, index, stock, limits


def _cut(draw: st.DrawFn, cut: Cut, tools: st.SearchStrategy[str | None]) -> Cut:
    if draw(st.booleans()):
        return cut
    return cut.model_copy(
        update={
            "tool": draw(tools), "least": draw(LENGTHS), "length": draw(LENGTHS), "width": draw(LENGTHS),
            "thread": draw(THREADS),
        }
    )  # fmt: skip


def _part(draw: st.DrawFn, part: Part, route: list[Op]) -> Part:
    update: dict[str, object] = {"route": route}
    if draw(st.booleans()):
        update["material"] = draw(st.sampled_from(MATERIALS))
    if draw(st.booleans()):
        update |= {"blank": None, "spans": {}}
    if draw(st.booleans()):
        sizes = st.sampled_from((None, (1e-6, 1e-6), (500.0, 0.5), (0.01, 300.0)))
        update["surfaces"] = {
            name: one.model_copy(update={"size": draw(sizes)}) for name, one in part.surfaces.items()
        }
    return part.model_copy(update=update)


def _sound(one: CutData) -> bool:
    numbers = (v for p in one.passes for v in (p.speed, p.rpm, p.feed, p.depth, p.minutes, p.force, p.power))
    return all(v is None or 0 <= v < float("inf") for v in numbers)


@settings(max_examples=300)
@given(any_op())
def test_no_op_ends_in_anything_but_an_answer_or_a_refusal(
    asked: tuple[Build, str, int, dict[str, float], dict[str, float]],
) -> None:
    """Whatever is missing or out of range, no other exception comes out, and every figure is finite, none negative."""
    build, name, index, stock, limits = asked
    try:
        found = cutting_of(build, name, index, stock=stock, limits=limits)
    except LoopwrightError:
        return
    assert all(_sound(one) for one in found.cuts)
    assert all(one.passes or one.warnings or one.known == "by hand" for one in found.cuts)


def test_every_op_as_written_is_answered() -> None:
    """No op of the small builds and of the examples is refused as a whole."""
    asked = ops()
    assert len(asked) > 30
    for build, name, index in asked:
        assert cutting_of(build, name, index).number == 10 * (index + 1)


def test_next_to_nothing_is_milled_without_a_division_by_nought() -> None:
    """A stock lost in rounding, as a chart may leave it, is no stock; a billionth of a millimetre is a thin chip."""
    for stock in (1e-9, 1e-15, 1e-17):
        found = cutting_of(cut_build(), "block", 2, stock={"left": stock, "right": stock})
        assert all(one.passes and _sound(one) for one in found.cuts)
