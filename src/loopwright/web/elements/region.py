"""A piece of a page that is drawn anew without disturbing whoever is typing in it."""

from nicegui.element import Element

from loopwright.sheets.markup import Markup


class Region(Element, component="region.js"):
    """Shows markup, which escapes by construction; what is typed, opened and focused in it stays so.

    Args:
        markup: what it shows.
        tag: name of its element.
        label: what it is, for who cannot see it; None leaves that to its headings.
        class_: classes of its element.
    """

    def __init__(
        self, markup: Markup, *, tag: str = "section", label: str | None = None, class_: str = ""
    ) -> None:
        super().__init__()
        self._props["tag"] = tag
        self._props["markup"] = str(markup)
        if label is not None:
            self._props["aria-label"] = label
        if class_:
            self.classes(class_)

    def show(self, markup: Markup) -> None:
        """Shows something else; the same again costs nothing."""
        if self._props["markup"] != str(markup):
            self._props["markup"] = str(markup)
            self.update()
