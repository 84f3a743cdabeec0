"""Joints, guides, the tree and indications: from a model to the matrices A and H."""

from loopwright.loop.rows import Loop, Rows, compile_loop, examine

__all__ = ["Loop", "Rows", "compile_loop", "examine"]
