"""How a part is hardened, what the hardness test must show, and whether it can bear the test."""

from dataclasses import dataclass

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band, Spread
from loopwright.handbook.cautions import Caution, caution
from loopwright.handbook.distortion import nitriding_growth
from loopwright.handbook.hardness import (
    LeastThickness,
    Spacing,
    convert,
    interpolated,
    least_thickness,
    spacing_rockwell,
    spacing_vickers,
    usable_tests,
)
from loopwright.handbook.heat_treatment import (
    hardens,
    soak_minutes,
    stress_relief,
    temper_for,
    temper_hours,
    tempered_hardness,
    treatment,
)
from loopwright.handbook.heat_treatment_tables import StressRelief, Treatment
from loopwright.handbook.operations import operation
from loopwright.making.heats import SCALES, growth_of, tempers_after
from loopwright.making.part_size import PartSize, size_of
from loopwright.making.planned import number_of
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Hardness


@dataclass(frozen=True)
class Aim:
    """Hardness that is asked for.

    Attributes:
        low, high: as written.
        scale: HRC, HV, HB or HRB.
        hrc: both in HRC, approximately where they were converted; None where the table does not reach.
        op: number of the op that asks for it.
    """

    low: float
    high: float
    scale: str
    hrc: tuple[float, float] | None
    op: int


@dataclass(frozen=True)
class HardnessTests:
    """Whether the part can bear a hardness test.

    Attributes:
        thickness: under the indentation, thinnest section of the finished part, mm.
        hrc: for which hardness.
        usable: tests that may be used, the quickest first; empty where none here may.
        needs: how thick a piece has to be for HRC.
        spacing: between indentations and to an edge, in the first test that may be used; None where none may.
    """

    thickness: float
    hrc: float
    usable: tuple[str, ...]
    needs: LeastThickness
    spacing: Spacing | None


@dataclass(frozen=True)
class Hardening:
    """How a part is hardened; bands, each with its source.

    Attributes:
        steel: name of the treatment in the handbook; the material's own name where it has none.
        op: number of the hardening op.
        tempers_in: numbers of the tempering ops.
        aim: hardness that is asked for; None where nothing is.
        harden_degc: furnace; None for a steel that the handbook does not have.
        soak_min: minutes at heat.
        quench: medium; '' where it is not known.
        quench_to_degc: temperature at which it is taken out and tempered.
        section: thickest section that the heat goes through, mm; None where the part's size is not known.
        through: 'through', 'doubtful' or 'skin only'; '' where it is not known.
        as_quenched_hrc: what the test must show before tempering.
        temper_degc: temperatures that lead to the aim.
        temper_written_degc: what the route says.
        tempered_hrc: what to expect after it.
        temper_h: hours of each tempering.
        tempers: how many times.
        growth: of all lengths, as a fraction, as dims are planned with.
        relief: stress relief before finishing, where the handbook has one.
        tested: whether the test can be borne; None where hardness or size is not known.
        notes: warnings, and what is not known, in words.
    """

    steel: str
    op: int
    tempers_in: tuple[int, ...]
    aim: Aim | None
    harden_degc: Band | None
    soak_min: Band | None
    quench: str
    quench_to_degc: Band | None
    section: float | None
    through: str
    as_quenched_hrc: Band | None
    temper_degc: Band | None
    temper_written_degc: float | None
    tempered_hrc: Band | None
    temper_h: Band | None
    tempers: int
    growth: Spread
    relief: StressRelief | None
    tested: HardnessTests | None
    notes: tuple[str, ...]


def hardening_of(build: Build, name: str) -> Hardening | None:
    """How a part is hardened; None where its route does not harden it.

    Args:
        build: the build.
        name: of the part.
    """
    route = build.parts[name].route
    index = next((number for number, op in enumerate(route) if op.op == "harden"), None)
    return None if index is None else _Gathering(build, name, index).done()


def hazards_of(part: Part) -> tuple[Caution, ...]:
    """Cautions of the ops of a part that heat, quench or grind, in the order of the route."""
    names: list[str] = []
    for op in part.route:
        own = operation(op.op)
        if op.op == "harden":
            try:
                names += treatment(part.material or "").cautions
            except OutOfRange:
                names += own.cautions
        elif own.heats or ("grinding wheel" in own.cautions and op.op != "saw"):
            names += own.cautions
    return tuple(caution(name) for name in dict.fromkeys(names))


class _Gathering:
    """Looks everything up; what the handbook does not have becomes a note."""

    def __init__(self, build: Build, name: str, index: int) -> None:
        self.build, self.name, self.index = build, name, index
        self.part = part = build.parts[name]
        self.size: PartSize = size_of(part)
        self.notes: list[str] = []
        self.how: Treatment | None = None
        try:
            self.how = treatment(part.material or "")
        except OutOfRange as error:
            self.notes.append(str(error))
        self.tempers_in = tempers_after(part, index)

    def done(self) -> Hardening:
        """The answer."""
        how, section = self.how, self.size.section
        aim = self._aim()
        degc, written, shows = self._temper(aim)
        self._furnace_as_written()
        return Hardening(
            steel=how.name if how else self.part.material or "a steel that is not named",
            op=number_of(self.index),
            tempers_in=tuple(number_of(n) for n in self.tempers_in),
            aim=aim,
            harden_degc=how.harden_degc if how else None,
            soak_min=self._soak(),
            quench=how.quench if how else "",
            quench_to_degc=how.quench_to_degc if how else None,
            section=section,
            through=self._through(),
            as_quenched_hrc=how.as_quenched_hrc if how else None,
            temper_degc=degc,
            temper_written_degc=written,
            tempered_hrc=shows,
            temper_h=self._hours(),
            tempers=how.tempers if how else 0,
            growth=self._growth(),
            relief=self._relief(),
            tested=self._tested(aim, shows),
            notes=tuple(dict.fromkeys(self.notes)),
        )

    def _aim(self) -> Aim | None:
        for number in (*reversed(self.tempers_in), self.index):
            asked = self.part.route[number].hardness
            if asked is not None:
                return Aim(asked.low, asked.high, asked.scale, self._in_hrc(asked), number_of(number))
        self.notes.append(
            "the route asks for no hardness: write it on the temper, such as hardness: 58…60 HRC"
        )
        return None

    def _in_hrc(self, asked: Hardness) -> tuple[float, float] | None:
        scale = SCALES.get(asked.scale)
        if scale is None:
            self.notes.append(f"{asked.scale} is not converted to HRC; no temper is looked up")
            return None
        try:
            low, high = (interpolated(v, scale, "HRC") for v in (asked.low, asked.high))  # type: ignore[arg-type]
        except OutOfRange as error:
            self.notes.append(str(error))
            return None
        return low, high

    def _soak(self) -> Band | None:
        if self.how is None or self.size.section is None or self.how.soak_min_per_25mm is None:
            return None
        return soak_minutes(self.how.name, self.size.section)

    def _hours(self) -> Band | None:
        if self.how is None or self.size.section is None or self.how.temper_h_per_25mm is None:
            return None
        return temper_hours(self.how.name, self.size.section)

    def _through(self) -> str:
        if self.how is None or self.size.section is None:
            return ""
        found = hardens(self.how.name, self.size.section)
        if found != "through" and self.how.full_section_mm is not None:
            limit = self.how.full_section_mm
            self.notes.append(
                f"it hardens through up to {limit.low:.0f} mm, and not over {limit.high:.0f} mm ({limit.source})"
            )
        return found

    def _furnace_as_written(self) -> None:
        written = self.part.route[self.index].temperature
        if self.how is not None and written is not None and not self.how.harden_degc.holds(written):
            low, high, source = self.how.harden_degc
            self.notes.append(
                f"{written:.0f} °C is outside what is usual, {low:.0f} to {high:.0f} °C ({source})"
            )

    def _temper(self, aim: Aim | None) -> tuple[Band | None, float | None, Band | None]:
        """Temperatures for the aim, what the route says, and what to expect."""
        stated = [t for n in self.tempers_in if (t := self.part.route[n].temperature) is not None]
        written = max(stated, default=None)  # the hottest decides
        if self.how is None or not self.how.tempers:
            return None, written, None
        if not self.tempers_in:
            self.notes.append(
                "it is not tempered: as quenched it is brittle and may crack; temper it at once"
            )
        degc, shows = None, None
        if aim is not None and aim.hrc is not None:
            try:
                found = temper_for(self.how.name, *aim.hrc)
                degc, shows = found.degc, found.expected_hrc
                if found.brittle:
                    self.notes.append(
                        "part of these tempering temperatures makes the steel brittle: aim elsewhere"
                    )
                if found.wide:
                    self.notes.append(
                        "the sources differ by more than is asked for: temper a witness piece first"
                    )
            except OutOfRange as error:
                self.notes.append(str(error))
        if written is None:
            return degc, None, shows
        return degc, written, self._at(written, aim, shows)

    def _at(self, written: float, aim: Aim | None, shows: Band | None) -> Band | None:
        """Hardness to expect at the temper that the route says."""
        assert self.how is not None
        try:
            found = tempered_hardness(self.how.name, written)
        except OutOfRange as error:
            self.notes.append(str(error))
            return shows
        if aim is not None and aim.hrc is not None and not aim.hrc[0] <= found.middle <= aim.hrc[1]:
            self.notes.append(
                f"tempered at {written:.0f} °C it comes out at {found.low:.1f} to {found.high:.1f} HRC, and "
                f"{aim.low:g} to {aim.high:g} {aim.scale} is asked for"
            )
        return found

    def _growth(self) -> Spread:
        found = growth_of(self.build, self.part, self.index)
        assert found is not None
        if self.how is not None and self.how.quench == "none" and not found.stated:
            return found.spread._replace(source=nitriding_growth().source)
        if found.assumed:
            self.notes.append(f"growth: {found.assumed}")
        return found.spread

    def _relief(self) -> StressRelief | None:
        try:
            return stress_relief(self.part.material or "")
        except OutOfRange:
            return None

    def _tested(self, aim: Aim | None, shows: Band | None) -> HardnessTests | None:
        if self.how is not None and self.how.full_section_mm is None:
            self.notes.append(
                "only a case is hard: it has to be as thick as a piece would for the test, not the part"
            )
            return None
        softest = (
            aim.hrc[0] if aim is not None and aim.hrc is not None else None if shows is None else shows.low
        )
        thickness = self.size.section
        if softest is None or thickness is None or not 20 <= softest <= 68:
            return None
        usable = usable_tests(softest, thickness)
        if "HRC" not in usable:
            instead = usable[0] if usable else "a witness piece of the same bar, treated with the part"
            self.notes.append(
                f"{thickness:g} mm is too thin for HRC, which needs {least_thickness(softest).mm:.2g} mm: use {instead}"
            )
        return HardnessTests(thickness, softest, usable, least_thickness(softest), _spacing(softest, usable))


def _spacing(hrc: float, usable: tuple[str, ...]) -> Spacing | None:
    if not usable:
        return None
    if usable[0] in ("HRC", "HRA"):
        return spacing_rockwell(interpolated(hrc, "HRC", usable[0]), usable[0])  # type: ignore[arg-type]
    return spacing_vickers(convert(hrc, "HRC", "HV"), float(usable[0].removeprefix("HV")))
