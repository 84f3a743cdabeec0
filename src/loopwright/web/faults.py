"""What goes wrong in Loopwright itself."""

from loopwright.errors import LoopwrightError


class Unforeseen(LoopwrightError):
    """Something went wrong that nobody's input should be able to cause; ``details`` is for whoever mends it."""

    def __init__(self, what: str, details: str) -> None:
        self.what, self.details = what, details
        super().__init__(what)

    def __reduce__(self) -> tuple[type["Unforeseen"], tuple[str, str]]:
        return type(self), (self.what, self.details)
