"""What a reader sees and can select in a PDF of ours: its words, its faces, how large they are, where they stand.

Enough of ISO 32000-1 for the files that our typesetter writes: streams with /Length and Flate, composite fonts with a
ToUnicode map (9.10.3), text shown by Tj and TJ (9.4.3).
"""

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

_OBJECT = re.compile(rb"(\d+) 0 obj\b(.*?)(?:endobj|stream\r?\n)", re.S)
_PIECE = re.compile(
    rb"/(?P<font>f\d+) (?P<size>[\d.]+) Tf|(?P<cm>(?:-?[\d.]+ ){6})cm|(?P<state>\bq\b|\bQ\b)"
    rb"|\((?P<text>(?:[^()\\]|\\.)*)\)(?=\s*(?:Tj|\]|-?\d|<|\())|<(?P<hex>[0-9A-Fa-f]+)>(?=\s*(?:Tj|\]|-?\d|<|\())",
    re.S,
)
_ESCAPED = re.compile(rb"\\([0-7]{1,3}|.)", re.S)
_SIGNS = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


@dataclass(frozen=True)
class Word:
    """Text shown at once: page from 0, size in points as it stands on the paper, place from the upper left, points."""

    text: str
    page: int
    size: float
    x: float
    y: float


class Pdf:
    """A PDF.

    Args:
        data: its bytes.
    """

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.objects = {int(found[1]): found for found in _OBJECT.finditer(data)}

    def head(self, number: int) -> bytes:
        """An object without its stream."""
        return self.objects[number][2]

    def stream(self, number: int) -> bytes:
        """The stream of an object, unpacked."""
        found = self.objects[number]
        length = re.search(rb"/Length (\d+)", found[2])
        assert length is not None
        raw = self.data[found.end() : found.end() + int(length[1])]
        return zlib.decompress(raw) if b"FlateDecode" in found[2] else raw

    @cached_property
    def pages(self) -> list[int]:
        """Numbers of the page objects, in their order."""
        root = next(
            n
            for n, o in self.objects.items()
            if re.search(rb"/Type/Pages\b", o[2]) and b"/Parent" not in o[2]
        )
        return list(self._below(root))

    def _below(self, number: int) -> Iterator[int]:
        head = self.head(number)
        kids = re.search(rb"/Kids\[(.*?)\]", head, re.S)
        if kids is None:
            yield number
            return
        for kid in re.findall(rb"(\d+) 0 R", kids[1]):
            yield from self._below(int(kid))

    @cached_property
    def faces(self) -> dict[str, bool]:
        """Names of the faces, and whether each is embedded."""
        found = {}
        for one in self.objects.values():
            name = re.search(rb"/Type/FontDescriptor.*?/FontName/([^/\s]+)", one[2], re.S)
            if name is not None:
                found[name[1].decode()] = b"/FontFile" in one[2]
        return found

    @cached_property
    def size(self) -> tuple[float, float]:
        """Width and height of the first page, points."""
        box = re.search(rb"/MediaBox\[([\d. ]+)\]", self.head(self.pages[0]))
        assert box is not None
        _, _, width, height = map(float, box[1].split())
        return width, height

    @cached_property
    def words(self) -> list[Word]:
        """Everything that can be selected, page after page."""
        return [word for page in range(len(self.pages)) for word in self._words(page)]

    @cached_property
    def text(self) -> str:
        """The same as one text, words of one place on a line together."""
        lines: list[str] = []
        last: tuple[int, float] | None = None
        for word in self.words:
            place = (word.page, round(word.y))
            if place == last:
                lines[-1] += word.text
            else:
                lines.append(word.text)
            last = place
        return "\n".join(lines)

    def _words(self, page: int) -> Iterator[Word]:
        head = self.head(self.pages[page])
        content = re.search(rb"/Contents (\d+) 0 R", head)
        assert content is not None
        yield from self._shown(self.stream(int(content[1])), self._resources(head), page)

    def _resources(self, head: bytes) -> bytes:
        found = re.search(rb"/Resources (\d+) 0 R", head)
        return head if found is None else self.head(int(found[1]))

    def _shown(self, content: bytes, resources: bytes, page: int) -> Iterator[Word]:
        fonts = {name: self._unicode(int(n)) for name, n in re.findall(rb"/(f\d+) (\d+) 0 R", resources)}
        matrix, kept, font, size = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), [], b"", 0.0
        for piece in _PIECE.finditer(content):
            if piece["font"]:
                font, size = piece["font"], float(piece["size"])
            elif piece["cm"]:
                matrix = _times(tuple(map(float, piece["cm"].split())), matrix)
            elif piece["state"]:
                if piece["state"] == b"q":
                    kept.append(matrix)
                else:
                    matrix = kept.pop()
            else:
                raw = bytes.fromhex(piece["hex"].decode()) if piece["hex"] else _plain(piece["text"])
                codes = [raw[at : at + 2] for at in range(0, len(raw), 2)]
                words = "".join(fonts[font].get(code, "") for code in codes)
                scale = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) ** 0.5
                yield Word(words, page, size * scale, matrix[4], self.size[1] - matrix[5])

    def _unicode(self, font: int) -> dict[bytes, str]:
        found = re.search(rb"/ToUnicode (\d+) 0 R", self.head(font))
        if found is None:
            return {}
        out = {}
        for block in re.findall(rb"beginbfchar(.*?)endbfchar", self.stream(int(found[1])), re.S):
            for code, text in re.findall(rb"<([0-9A-F]{4})> <([0-9A-F]+)>", block):
                out[bytes.fromhex(code.decode())] = bytes.fromhex(text.decode()).decode("utf-16-be")
        return out


def _plain(text: bytes) -> bytes:
    def one(found: re.Match[bytes]) -> bytes:
        return bytes([int(found[1], 8)]) if found[1].isdigit() else _SIGNS.get(found[1], found[1])

    return _ESCAPED.sub(one, text)


def _times(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
    return (
        a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5],
    )  # fmt: skip
