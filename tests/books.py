"""Things to be entered in a book, all invented."""

from loopwright import book
from loopwright.model.records import (
    Calibration,
    Change,
    ColumnsKept,
    Concession,
    Contribution,
    Effect,
    Evaluated,
    Method,
    RawColumn,
    Reading,
    Record,
    State,
    Stock,
    Verdict,
    Warm,
)

BUILD = "format: loopwright-build/1\nname: Drill\n"


def begin(where: str) -> book.Book:
    """A new book of a drill."""
    return book.create(where, BUILD, build_name="Drill", who="Ana", file="drill.yaml", why="first drawing")


def reading(
    of: str = "column/height", value: float = 240.0, *, state: int = 1, gauge: str = "dial 1"
) -> Reading:
    """A dim read twice in each of three places."""
    raw = tuple((value + 0.001 * i, value + 0.0007 * i) for i in range(3))
    values = tuple((a + b) / 2 for a, b in raw)
    return Reading(
        subject="dim",
        of=of,
        state=state,
        gauge=gauge,
        typed=tuple((f"{a:.4f}", f"{b:.4f} mm") for a, b in raw),
        raw=raw,
        poses={"X": (0.0, 10.0, 20.0)},
        part_temperature=Warm(value=21.5, std=0.3),
        evaluated=Evaluated(
            values=values,
            stds=(0.0004,) * 3,
            effects=(Effect(name=f"calibration of {gauge}", std=0.0005, column=(1.0, 1.0, 1.0)),),
            contributions=(Contribution(name="repeats", std=0.0003, dof=2, how="A"),),
            expanded=0.0011,
            notes=("corrected to 20 °C",),
        ),
        surprise=0.4,
        note="after lunch",
    )


def method() -> Method:
    """Two sweeps along a straightedge, turned over between them."""
    sweeps = {"first": ("0", "3 µm", ""), "second": ("0", "-1", "0.4")}
    columns = [
        RawColumn(name="position", reading=False, unit="mm", typed=("0", "1", "2"), numbers=(0.0, 1.0, 2.0))
    ]
    columns += [
        RawColumn(name=name, reading=True, unit="µm", typed=typed, numbers=(0.0, 0.1 + 0.2, None))
        for name, typed in sweeps.items()
    ]
    return Method(
        evaluation="straightedge reversal",
        columns=tuple(columns),
        settings={"reference": "least squares"},
        stated="0.5 µm",
        result="motion",
        file="way.csv",
    )


def shimmed(adjuster: str = "column on base/front left", value: float = 0.05, *, parent: int = 1) -> State:
    """A shim was put in."""
    change = Change(what="set", of=adjuster, value=value, std=0.001, lock_std=0.0005, planned=0.049)
    return State(
        parent=parent, reason="column leant to the left", changes=(change,), step="square the column"
    )


def one_of_each() -> list[Record]:
    """Everything that can be entered after the start, but for corrections."""
    return [
        reading(),
        Reading(
            subject="comparison",
            of="pad_FL/height",
            against="pad_FR/height",
            item="no. 7",
            state=1,
            raw=((0.1 + 0.2,), (1e-300, 5e-324)),
            turned=True,
            both_directions=True,
            taken="2026-05-04T07:30:00Z",
            gauge_temperature=Warm(value=-0.5),
            evaluated=Evaluated(values=(1 / 3,), stds=(0.0,)),
            kept=True,
            method=method(),
        ),
        shimmed(),
        Calibration(
            gauge="dial 1", done="2026-05-04", due="2027-05-04", std=0.0004, error=-0.0002, certificate="C-11"
        ),
        Calibration(gauge="level", done="2026-05-04", verified=False, note="dropped"),
        Concession(
            part="column",
            dims=("column/height", "column/width"),
            state=2,
            decision="compensate",
            terms="shim by 0.02",
            chances={"hole position": 0.93, "depth": 1.0},
        ),
        Verdict(
            of="column/height",
            state=2,
            verdict="undecided",
            value=240.019,
            std=0.0006,
            limits=(239.98, 240.02),
            probability=0.95,
            rule="ISO 14253-1",
        ),
        Verdict(
            of="squareness",
            item="a",
            state=1,
            verdict="conforming",
            value=0.001,
            std=0.0,
            limits=(None, None),
            probability=1.0,
            rule="simple acceptance",
        ),
        Stock(what="shim foil", size=0.05, std=0.001, count=12, note="third drawer"),
        ColumnsKept(
            name="height gauge", columns={"value": 3, "skip": [1, 2], "unit": {"of": "mm"}, "part": None}
        ),
    ]
