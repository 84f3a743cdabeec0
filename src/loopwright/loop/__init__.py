"""Joints, guides, the tree and indications: from a model to the matrices A and H."""

from loopwright.loop.rows import Loop, Rows, compile_loop, examine
from loopwright.loop.sources import MadeDim, Share

__all__ = ["Loop", "MadeDim", "Rows", "Share", "compile_loop", "examine"]
