"""Weights and forces of the work, pose by pose, and what they do to the joints."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.kinematics import Standing, Stands
from loopwright.loop.sources import Source, SourceKind, SourceList
from loopwright.loop.twists import rows_at
from loopwright.model.build import Build
from loopwright.units import Dimension

Array = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665
"""m/s2. Source: 3rd CGPM (1901)."""


@dataclass(frozen=True)
class Pull:
    """One component of a load: a source, the body it acts on, the body that takes its reaction, and where.

    Attributes:
        place: in x.
        on, against: bodies.
        at: home coordinates on ``on``, mm.
        wrench: force and free moment of a unit of the source, machine directions, (6,).
        load: name of the process load, or None for weight.
    """

    place: int
    on: str
    against: str | None
    at: tuple[float, float, float]
    wrench: Array
    load: str | None


def add_loads(build: Build, sources: SourceList) -> tuple[Pull, ...]:
    """Adds a source for every weight and every component of a process load."""
    pulls = []
    carried = build.joint_above()
    for name, body in build.bodies.items():
        if build.down is None or name not in carried or not (body.mass.mean or not body.mass.certain):
            continue
        source = Source(f"mass of {name}", SourceKind.LOAD, Dimension.MASS, body.mass, f"bodies/{name}/mass")
        wrench = np.concatenate([STANDARD_GRAVITY * np.asarray(build.down), np.zeros(3)])
        pulls.append(
            Pull(sources.add(source), name, None, body.centre_of_mass or (0.0, 0.0, 0.0), wrench, None)
        )
    for name, load in build.loads.items():
        for number, stated in enumerate((*load.force, *load.torque)):
            if stated.certain and not stated.mean:
                continue
            kind, key, letter = ("force", "force", "XYZ") if number < 3 else ("torque", "torque", "ABC")
            source = Source(
                f"{name} {letter[number % 3]}",
                SourceKind.LOAD,
                Dimension(kind),
                stated,
                f"loads/{name}/{key}/{number % 3}",
            )
            pulls.append(Pull(sources.add(source), load.on, load.against, load.at, np.eye(6)[number], name))
    return tuple(pulls)


def add_stiffness_sources(
    build: Build, sources: SourceList, joint: str, fields: list[str], names: list[str]
) -> list[int]:
    """Adds what is open about the stiffness of a joint: one source for all its contacts, then one for each.

    Returns:
        Their places, the shared one first; [] where the build has no load and no such spread.
    """
    if build.stiffness_shared.certain and build.stiffness_spread.certain:
        return []
    shared = Source(
        f"stiffness of {joint}",
        SourceKind.LOAD,
        Dimension.RATIO,
        build.stiffness_shared,
        "stiffness_shared",
        joint=joint,
        group=f"stiffness of {joint}",
    )
    own = [
        Source(
            f"stiffness of {joint}: {name}",
            SourceKind.LOAD,
            Dimension.RATIO,
            build.stiffness_spread,
            "stiffness_spread",
            joint=joint,
            group=f"stiffness of {joint}",
        )
        for name, _ in zip(names, fields)
    ]
    return sources.add_all([shared, *own])


def wrenches(
    stands: Stands, pulls: tuple[Pull, ...], carried: Collection[str], parent: Standing, under: set[str]
) -> dict[int, Array]:
    """Wrench on a joint's child for a unit of each load that goes through it.

    Args:
        stands: where the bodies stand.
        pulls: every load component.
        carried: every body whose weight goes through the joint.
        parent: where the joint's parent stands; the wrench is given in the parent's frame.
        under: names of the process loads that act; weight always acts.

    Returns:
        By place in x, (poses, 6).
    """
    acting = [
        (pull, sign)
        for pull in pulls
        if (pull.load is None or pull.load in under)
        and (sign := float(pull.on in carried) - float(pull.against in carried))
    ]
    if not acting:
        return {}
    points = np.stack([stands.of(pull.on).place(np.asarray(pull.at)) for pull, _ in acting])
    pulling = np.stack([sign * pull.wrench for pull, sign in acting])[:, None, None]
    # all loads at once, (loads, poses, 3)
    out = rows_at(parent.home(points), (pulling[..., :3] @ parent.turn)[:, :, 0])
    out[..., 3:] += (pulling[..., 3:] @ parent.turn)[:, :, 0]
    return {pull.place: wrench for (pull, _), wrench in zip(acting, out)}
