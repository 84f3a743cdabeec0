"""What a standing says in words: the verdict first, and numbers with their doubt."""

from dataclasses import dataclass

from loopwright.sheets.shown import Shown, percent
from loopwright.studies.reports import InLimits, MonteCarloStanding, TargetStanding
from loopwright.units import Dimension

_SAMPLING = 2
"""Sampling uncertainty is stated with this coverage factor."""

_NOTHING = {Dimension.LENGTH: 1e-7, Dimension.ANGLE: 1e-10, Dimension.FORCE: 0.05}
"""Below this a value is rounding, not metal: 0.1 nm, 0.00002 arcsec, 0.05 N."""


@dataclass(frozen=True)
class Verdict:
    """What is said of a target.

    Attributes:
        sign: 'enough', 'short' or 'open', for the mark that stands beside it.
        brief: a few words.
        sentence: the same in full.
    """

    sign: str
    brief: str
    sentence: str


def verdict(target: TargetStanding) -> Verdict:
    """The chance against the confidence that the build asks for; undecided where sampling could turn it."""
    drawn = target.monte_carlo
    asked = confidence(drawn.confidence)
    if abs(drawn.chance - drawn.confidence) <= _SAMPLING * drawn.chance_std:
        brief = f"too close to {asked} to call"
        return Verdict("open", brief, f"Undecided: so near to the {asked} asked for, more trials must tell.")
    if target.meets:
        return Verdict("enough", f"over the {asked} asked for", f"Enough: the build asks for {asked}.")
    return Verdict("short", f"short of the {asked} asked for", f"Not enough yet: the build asks for {asked}.")


def confidence(share: float) -> str:
    """A stated probability, as it was stated: '95 %', '99.73 %'."""
    return f"{100 * share:.6g}\u00a0%"


def chance(drawn: MonteCarloStanding) -> str:
    """The chance to hold the limit, as far as the machines drawn can tell."""
    return counted_share(drawn.chance, drawn.chance_std, drawn.trials)


def counted_share(share: float, uncertainty: float, trials: int) -> str:
    """A share that was counted in so many trials; where it is all or none, no more than so many can tell.

    None of N failing says, with 95 % confidence, that fewer than 3/N do (rule of three, common practice).

    >>> counted_share(1.0, 0.0, 2000), counted_share(1.0, 0.0, 20000)
    ('over 99 %', 'over 99.9 %')
    """
    if share != share or 0 < share < 1:
        return percent(share, uncertainty)
    told = next((least for least in (0.1, 1.0, 5.0) if trials * least >= 300), 10.0)
    return f"over {100 - told:g} %" if share >= 1 else f"under {told:g} %"


def sampling(drawn: MonteCarloStanding) -> str:
    """How many machines the chance was counted in, and what that leaves open."""
    among = f"{counted(drawn.trials)} machines built on paper"
    if drawn.chance >= 1:
        return f"every one of {among} held it"
    if drawn.chance <= 0:
        return f"not one of {among} held it"
    share = 100 * _SAMPLING * drawn.chance_std
    return f"counted in {among}; sampling leaves ±\u00a0{share:.2g}\u00a0% (k\u00a0=\u00a0{_SAMPLING})"


def as_made(shown: Shown, target: TargetStanding, limits: InLimits) -> str:
    """What the routes bring against dims that are only known to be within their limits."""
    expected, then = (shown.error(v, target.dimension) for v in (target.expected, limits.expected))
    now, before = (percent(one.chance, one.chance_std) for one in (target.monte_carlo, limits))
    return (
        f"As this shop makes it: expected {expected}, chance {now}. "
        f"If everything is just in limits: expected {then}, chance {before}."
    )


def sampling_of_size(shown: Shown, target: TargetStanding) -> str:
    """How well the size that the asked-for share of machines stays below is known."""
    doubt = target.monte_carlo.quantile_std
    if doubt != doubt:
        return "too few machines were drawn to say how well this is known"
    size = unbroken(shown.error(_SAMPLING * doubt, target.dimension, digits=1))
    return f"sampling leaves ±\u00a0{size} (k\u00a0=\u00a0{_SAMPLING})"


def unbroken(listed: str) -> str:
    """Numbers that stay with their unit at the end of a line; between them it may break."""
    return ", ".join(part.replace(" ", "\u00a0") for part in listed.split(", "))


def at_confidence(target: TargetStanding) -> float:
    """The size that the asked-for share of machines stays below; mm or rad."""
    return target.monte_carlo.quantiles[target.monte_carlo.confidence]


def counted(number: int) -> str:
    """A whole number, in threes: '20 000'."""
    return f"{number:,}".replace(",", "\u00a0")


def small(shown: Shown, value: float, dimension: Dimension) -> str:
    """A size, or 'none' where it is only rounding."""
    if abs(value) < _NOTHING.get(dimension, 0.0):
        return "none"
    return shown.force(value) if dimension is Dimension.FORCE else shown.error(value, dimension)


def beside(shown: Shown, value: float, other: float, dimension: Dimension) -> str:
    """A size to the place that three digits of ``other`` reach, so that the two can be held side by side."""
    return (
        shown.error_known(value, other, dimension, digits=3) if other > 0 else shown.error(value, dimension)
    )


def signed(shown: Shown, value: float, uncertainty: float, dimension: Dimension) -> str:
    """A signed size rounded to its uncertainty, with a true minus."""
    if abs(value) < _NOTHING.get(dimension, 0.0) and uncertainty <= 0:
        return "0"
    return shown.error_known(value, uncertainty, dimension, sign=True).replace("-", "\u2212", 1)


def axis_unit(shown: Shown, letter: str) -> str:
    """The unit of an axis: 'mm'."""
    return shown.position(letter, 0.0).split(" ", 2)[2]


def along_axis(shown: Shown, letter: str, value: float) -> str:
    """A place along an axis without letter and unit: '160'."""
    return shown.position(letter, value).split(" ")[1]


def plural(number: int, word: str) -> str:
    """A count with its word: '1 contact', '3 contacts'."""
    return f"{counted(number)} {word}{'' if number == 1 else 's'}"
