"""What a build is, as typed data. No mathematics, no files."""

from loopwright.model.build import FORMAT, Build
from loopwright.model.indications import Indication, Target, Test
from loopwright.model.joints import Body, Joint, JointKind
from loopwright.model.spread import Shape, Spread

__all__ = ["FORMAT", "Body", "Build", "Indication", "Joint", "JointKind", "Shape", "Spread", "Target", "Test"]
