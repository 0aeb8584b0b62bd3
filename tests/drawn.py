"""What a PDF draws, in millimetres: read from its own instructions, whatever made it."""

from dataclasses import dataclass
from io import BytesIO

import pypdf
from pypdf.generic import ContentStream

MM = 25.4 / 72  # a PDF counts in points (ISO 32000-2, 8.3.2.3)


@dataclass(frozen=True)
class Stroke:
    """A straight line as it lies on the page, from its left and upper edge. [mm]"""

    page: int
    x1: float
    y1: float
    x2: float
    y2: float

    @property
    def is_upright(self) -> bool:
        return abs(self.x1 - self.x2) < 1e-6 < abs(self.y1 - self.y2)

    @property
    def length(self) -> float:
        return ((self.x2 - self.x1) ** 2 + (self.y2 - self.y1) ** 2) ** 0.5


def strokes(made: bytes) -> list[Stroke]:
    """Every straight line of every page, in the order in which it is drawn."""
    found = []
    reader = pypdf.PdfReader(BytesIO(made))
    for number, page in enumerate(reader.pages, start=1):
        top = float(page.mediabox.height)
        _read(page["/Resources"], ContentStream(page.get_contents(), reader), (1, 0, 0, 1, 0, 0), number, top, found)
    return found


def _read(resources, content, ground, page, top, found):
    """Walk the operators: cm q Q (8.4.4), m l re (8.5.2), Do (8.8)."""
    now, kept, at = ground, [], None
    for operands, operator in content.operations:
        if operator == b"q":
            kept.append(now)
        elif operator == b"Q":
            now = kept.pop()
        elif operator == b"cm":
            now = _after([float(each) for each in operands], now)
        elif operator == b"m":
            at = _on_page(operands, now)
        elif operator == b"l":
            to = _on_page(operands, now)
            found.append(Stroke(page, *_in_mm(at, top), *_in_mm(to, top)))
            at = to
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                own = _after([float(each) for each in form.get("/Matrix", (1, 0, 0, 1, 0, 0))], now)
                inner = ContentStream(form, content.pdf)
                _read(form.get("/Resources", resources), inner, own, page, top, found)


def _after(first, then):
    a, b, c, d, e, f = first
    g, h, i, j, k, m = then
    return (
        a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m
    )  # fmt: skip


def _on_page(point, matrix):
    x, y = (float(each) for each in point)
    a, b, c, d, e, f = matrix
    return x * a + y * c + e, x * b + y * d + f


def _in_mm(point, top):
    return point[0] * MM, (top - point[1]) * MM
