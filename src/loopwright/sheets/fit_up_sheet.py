"""The fit-up sheet: the steps of assembly, what is read and set in each, and what is good enough."""

from collections.abc import Mapping, Sequence

from loopwright.handbook.cautions import DEFERS, caution
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, code_data, degree, minutes_words, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.sheets.shown import Shown
from loopwright.studies.fit_up_sheet import FitUpSheet, SheetStep, StepReading, StepSetting
from loopwright.units import Dimension

KIND = "fit-up sheet"


def fit_up_pdf(found: FitUpSheet, sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """The fit-up sheet as a PDF.

    Args:
        found: the steps.
        sizes: writes the sizes.
        paper: that it is printed on.
    """
    told: dict[str, int] = {}
    steps = []
    for step in found.steps:
        steps.append(_step(step, sizes, told))
        told |= {hazard: step.number for hazard in step.hazards if hazard not in told}
    sheet = {
        "foot": f"{KIND}, {found.build}",
        "head": {
            "kind": KIND,
            "build": "",
            "name": found.build,
            "facts": [["sizes in", units_words(sizes)], ["steps", str(len(found.steps))]],
        },
        "steps": steps,
        "defers": DEFERS if told else "",
    }
    data = {"title": f"Fit-up, {found.build}", "degree": degree(sizes), "sheets": [sheet]}
    return pdf_of("fit_up_sheet", data, paper)


def _step(step: SheetStep, sizes: ShopSizes, told: Mapping[str, int]) -> Data:
    fresh = [hazard for hazard in step.hazards if hazard not in told]
    again = [f"{hazard} (step {told[hazard]})" for hazard in step.hazards if hazard in told]
    return {
        "number": str(step.number),
        "name": step.name,
        "code": code_data(step.code),
        "seat": ", ".join(step.seat),
        "note": step.note,
        "accept": "" if step.accept is None else f"±{sizes.small(step.accept, step.dimension)}",
        "readings": [_reading(one, sizes) for one in step.readings],
        "settings": [_setting(one, sizes) for one in step.settings],
        "careful": [
            *[[f"Careful, {hazard}:", " ".join(caution(hazard).texts)] for hazard in fresh],
            *([["Careful, as before:", ", ".join(again)]] if again else []),
        ],
    }


def _reading(one: StepReading, sizes: ShopSizes) -> Data:
    moving, held = _split(one.poses)
    shown = Shown(sizes.units)
    words = [one.what, f"at {shown.pose(held)}" if held else "", one.note]
    work = [one.gauge, f"on {one.artefact}" if one.artefact else ""]
    times = [
        f"{one.repeats} times" if one.repeats > 1 else "",
        "" if one.minutes is None else f"about {minutes_words(one.minutes)}",
    ]
    boxes = [", ".join(_place(letter, pose[letter], sizes) for letter in moving) for pose in one.poses]
    return {
        "name": one.name,
        "what": "; ".join(filter(None, words)),
        "gauge": ", ".join(filter(None, work)) or "gauge:",
        "times": ", ".join(filter(None, times)),
        "limit": _limit(one, sizes),
        "boxes": boxes if moving else ["reading 1", "reading 2", "reading 3"],
        "unit": shown.unit(one.dimension) if one.kind == "test" else sizes.unit,
        "more": f"and {one.more} more" if one.more else "",
    }


def _limit(one: StepReading, sizes: ShopSizes) -> str:
    if one.limit is not None:
        return f"±{sizes.small(one.limit, one.dimension)}"
    if one.low is None or one.high is None or one.dimension is Dimension.ANGLE:
        return ""
    return f"{sizes.limits(one.low, one.high)[0]} {sizes.unit}"


def _split(poses: Sequence[Mapping[str, float]]) -> tuple[list[str], dict[str, float]]:
    """The axes that move from one pose to the next, and where the others stand."""
    letters = list(poses[0]) if poses else []
    moving = [letter for letter in letters if len({pose[letter] for pose in poses}) > 1]
    return moving, {letter: poses[0][letter] for letter in letters if letter not in moving}


def _place(letter: str, value: float, sizes: ShopSizes) -> str:
    """A place on an axis without its unit, which stands above: 'X 160'."""
    return Shown(sizes.units).position(letter, value).rpartition(" ")[0]


def _setting(one: StepSetting, sizes: ShopSizes) -> Data:
    steps = f", in steps of {sizes.fine(one.increment)}" if one.increment else ""
    span = (
        ""
        if one.low is None or one.high is None
        else f"{sizes.fine(one.low) or '0'} to {sizes.fine(one.high)} {sizes.unit}{steps}"
    )
    return {"path": one.path, "kind": f"{one.kind}: {one.part}" if one.part else one.kind, "range": span}
