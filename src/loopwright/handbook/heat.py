"""Growth by heat, with its uncertainty.

ISO 1 states sizes at 20 °C. First order in the deviations, as GUM 5.1.2: where the temperature is exactly 20
°C the coefficient's uncertainty adds nothing. The term of second order, L u(α) u(ΔT), is left out; it matters
only where the best guess of the temperature difference is zero (GUM H.1.7).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

REFERENCE_TEMPERATURE: Final = 20.0
"""°C, ISO 1:2022."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Growth:
    """A growth and its standard uncertainty, both mm, scalars or arrays of one shape."""

    value: Floats
    std: Floats


def growth(
    length: ArrayLike,
    rise: ArrayLike,
    expansion: ArrayLike,
    *,
    rise_std: ArrayLike = 0.0,
    expansion_std: ArrayLike = 0.0,
) -> Growth:
    r"""How much longer a warm part is than at the reference temperature.

    .. math:: \Delta L = \alpha L \Delta T,\qquad u = L \sqrt{(\Delta T\,u_\alpha)^2 + (\alpha\,u_T)^2}

    Args:
        length: at the reference temperature, mm.
        rise: above the reference temperature, K.
        expansion: coefficient of linear expansion, 1/K.
        rise_std: standard uncertainty of the rise, K.
        expansion_std: standard uncertainty of the coefficient, 1/K.

    Returns:
        Growth, mm, shape of all arguments broadcast.

    Source: JCGM 100:2008, 5.1.2. Checked in tests/published/test_nist_swyt_thermal.py.

    >>> float(growth(1000, 1, 11.5e-6).value)
    0.0115
    """
    size, t, a = (np.asarray(v, float) for v in (length, rise, expansion))
    std = np.abs(size) * np.hypot(t * np.asarray(expansion_std), a * np.asarray(rise_std))
    return Growth(*np.broadcast_arrays(a * size * t, std))


def growth_against_scale(
    length: ArrayLike,
    part_rise: ArrayLike,
    part_expansion: ArrayLike,
    scale_rise: ArrayLike,
    scale_expansion: ArrayLike,
    *,
    rise_std: ArrayLike = 0.0,
    expansion_std: ArrayLike = 0.0,
) -> Growth:
    r"""How much too long a warm part reads on a warm scale or gauge.

    .. math:: \Delta L = L\,(\alpha_p \Delta T_p - \alpha_s \Delta T_s)

    Args:
        length: of the part at the reference temperature, mm.
        part_rise: of the part above the reference temperature, K.
        part_expansion: 1/K.
        scale_rise: of the scale, K.
        scale_expansion: 1/K.
        rise_std: standard uncertainty of each of the two rises, independent, K.
        expansion_std: standard uncertainty of each of the two coefficients, independent, 1/K.

    Returns:
        Growth, mm; take it off the reading to get the size at the reference temperature.

    Source: JCGM 100:2008, H.1; D. A. Swyt, J. Res. NIST 99 (1994) 31.
    Checked in tests/published/test_nist_swyt_thermal.py.

    >>> round(float(growth_against_scale(500, 2, 23.1e-6, 2, 11.5e-6).value), 4)
    0.0116
    """
    uncertainties = {"rise_std": rise_std, "expansion_std": expansion_std}
    part = growth(length, part_rise, part_expansion, **uncertainties)
    scale = growth(length, scale_rise, scale_expansion, **uncertainties)
    return Growth(part.value - scale.value, np.hypot(part.std, scale.std))
