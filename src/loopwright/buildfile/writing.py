"""A build to the text of a build file."""

from loopwright.buildfile.yaml_layout import laid_out
from loopwright.model.build import FORMAT, Build


def write_text(build: Build) -> str:
    r"""A build as the text of a build file; reading it gives an equal build.

    Numbers stand in the units of the build where that is exact, else in units in which it is.

    >>> from loopwright.buildfile import read_text
    >>> text = write_text(read_text("format: loopwright-build/1\nname: b\nbodies: {b: {mass: 85}}"))
    >>> print(text)
    format: loopwright-build/1
    name: b
    bodies:
      b: {mass: 85 kg}
    <BLANKLINE>
    """
    data = build.model_dump(mode="json", exclude_defaults=True, context={"units": build.units.bare()})
    return laid_out({"format": FORMAT, **data})
