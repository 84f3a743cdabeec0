"""What the studies of single things answer, as plain data: a part, what a reading asks for, what would come of it."""

from loopwright.studies.bench import Bench, gauges_in_use
from loopwright.studies.bench_sheet import Sheet
from loopwright.studies.carried import Carried
from loopwright.studies.entering import Doubted
from loopwright.studies.exchange_bench import Data, Plain, conformity_as_data, number
from loopwright.studies.meant import Meant
from loopwright.studies.part_sheet import DimSheet, OneReading, PartSheet
from loopwright.units import Dimension


def targets_as_data(bench: Bench) -> Data:
    """What the machine must hold, format loopwright-targets/1."""
    plain = Plain(bench.build.units)
    return {
        "format": "loopwright-targets/1",
        "build": bench.build.name,
        "confidence": bench.build.confidence,
        "targets": [
            {
                "name": name,
                "between": list(target.between),
                "component": target.component or "along",
                "unit": plain.unit(target.dimension),
                "limit": plain.small(target.limit, target.dimension),
                "note": target.note,
            }
            for name, target in bench.build.targets.items()
        ],
    }


def gauges_as_data(bench: Bench) -> Data:
    """Every gauge as its last calibration left it, format loopwright-gauges/1."""
    return {
        "format": "loopwright-gauges/1",
        "build": bench.build.name,
        "gauges": [
            {
                "name": name,
                "reads": str(gauge.dimension),
                "unit": bench.build.units.shown(gauge.dimension),
                "resolution": Plain(bench.build.units).small(gauge.resolution, gauge.dimension),
                "verified": gauge.verified,
                "calibrated": None if gauge.calibrated is None else gauge.calibrated.isoformat(),
                "due": None if gauge.due is None else gauge.due.isoformat(),
                "note": gauge.note,
            }
            for name, gauge in gauges_in_use(bench).items()
        ],
    }


def sheet_as_data(bench: Bench, found: Sheet) -> Data:
    """What is asked of a reading, format loopwright-sheet/1; poses with their units, values to be typed in 'unit'."""
    plain, told = Plain(bench.build.units), found.asked
    size_unit = plain.size_unit(told.dimension)

    def size(value: float) -> float | None:
        return plain.size(value, told.dimension)

    return {
        "format": "loopwright-sheet/1",
        "build": bench.build.name,
        "of": told.of,
        "subject": found.subject,
        "against": found.against,
        "item": found.item,
        "unit": told.unit,
        "poses": [plain.pose(pose) for pose in told.poses],
        "repeats": told.repeats,
        "size_unit": size_unit,
        "nominal": None if found.nominal is None else size(found.nominal),
        "limits": None if found.limits is None else [size(value) for value in found.limits],
        "gauge": found.gauge,
        "gauges": list(found.gauges),
        "artefact": found.artefact,
        "minutes": found.minutes,
        "note": told.note,
        "last_entry": None if found.last is None else found.last.entry,
        "state": found.state,
        "seen": found.seen,
    }


def considered_as_data(bench: Bench, found: Doubted) -> Data:
    """A reading that was worked out and not entered, format loopwright-considered/1."""
    considered, plain = found.considered, Plain(bench.build.units)
    dimension, evaluated = considered.dimension, considered.reading.evaluated
    doubt = considered.doubt
    return {
        "format": "loopwright-considered/1",
        "build": bench.build.name,
        "of": considered.reading.of,
        "state": considered.reading.state,
        "gauge": considered.reading.gauge,
        "size_unit": plain.size_unit(dimension),
        "values": [plain.size(value, dimension) for value in evaluated.values],
        "standard_uncertainties": [plain.size(value, dimension) for value in evaluated.stds],
        "expanded": None if evaluated.expanded is None else plain.size(evaluated.expanded, dimension),
        "notes": list(evaluated.notes),
        "surprise": None if considered.look is None else number(considered.look.surprise),
        "conformity": None
        if considered.conformity is None
        else conformity_as_data(plain, considered.conformity, dimension),
        "doubt": None if doubt is None else doubt.what,
        "meant": [_meant(one) for one in found.meant],
    }


def _meant(one: Meant) -> Data:
    typed = one.typed
    return {
        "what": one.what,
        "shown": one.shown,
        "send": None
        if typed is None
        else {
            "values": [list(repeats) for repeats in typed.values],
            "unit": typed.unit,
            "from_nominal": typed.from_nominal,
            "note": typed.note,
        },
    }


def part_as_data(found: PartSheet) -> Data:
    """A part, format loopwright-part/1."""
    plain = Plain(found.units)
    return {
        "format": "loopwright-part/1",
        "build": found.build,
        "part": found.name,
        "machine_state": found.machine_state,
        "material": found.material,
        "note": found.note,
        "bought": found.bought,
        "state": found.state,
        "dims": [_dim(plain, dim) for dim in found.dims],
        "bodies": list(found.bodies),
        "contacts": [
            {"joint": joint, "contact": contact, "dims": list(dims)}
            for joint, contact, dims in found.contacts
        ],
        "closures": list(found.closures),
        "items": [{"place": place, "serial": serial, "entry": entry} for place, serial, entry in found.items],
        "concessions": [
            {
                "entry": one.entry,
                "at": one.at,
                "who": one.who,
                "why": one.why,
                "counts": one.counts,
                "dims": list(one.record.dims),
                "decision": one.record.decision,
                "terms": one.record.terms,
                "chances": dict(one.record.chances),
            }
            for one in found.concessions
        ],
    }


def _dim(plain: Plain, dim: DimSheet) -> Data:
    def size(value: float | None) -> float | None:
        return None if value is None else plain.size(value, dim.dimension)

    return {
        "dim": dim.dim,
        "size_unit": plain.size_unit(dim.dimension),
        "nominal": size(dim.nominal),
        "limits": None if dim.limits is None else [size(value) for value in dim.limits],
        "stated": dim.stated or None,
        "state": dim.state,
        "size": size(dim.value),
        "standard_uncertainty": size(dim.std),
        "conformity": None
        if dim.conformity is None
        else conformity_as_data(plain, dim.conformity, dim.dimension),
        "best": size(dim.best),
        "best_standard_uncertainty": size(dim.best_std),
        "concession": dim.concession or None,
        "made_together_with": list(dim.together),
        "readings": [_reading(plain, dim.dimension, one) for one in dim.readings],
        "carries": [_carried(plain, one) for one in dim.carries],
    }


def _reading(plain: Plain, dimension: Dimension, one: OneReading) -> Data:
    return {
        "entry": one.entry,
        "at": one.at,
        "who": one.who,
        "gauge": one.gauge,
        "against": one.against,
        "size": plain.size(one.value, dimension),
        "expanded": None if one.expanded is None else plain.size(one.expanded, dimension),
        "state": one.state,
        "counts": one.counts and one.of_this,
        "item": one.item,
    }


def _carried(plain: Plain, one: Carried) -> Data:
    return {
        "target": one.target,
        "unit": plain.unit(one.dimension),
        "known": plain.small(one.known, one.dimension),
        "unknown": plain.small(one.unknown, one.dimension),
        "unknown_before": plain.small(one.before, one.dimension),
        "share": number(one.share),
        "share_before": number(one.share_before),
    }
