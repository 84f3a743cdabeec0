"""Published facts and formulas, one topic a module, each with its source.

Import the topic, not the package: ``from loopwright.handbook import limits_and_fits``. Numbers inside are
millimetres, radians, newtons, kilograms, seconds, kelvin differences and MPa. A value outside a table or a
formula's validity raises :class:`loopwright.errors.OutOfRange`; nothing is extrapolated.
"""
