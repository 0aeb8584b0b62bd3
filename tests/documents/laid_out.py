"""Where the words of a paper lie, read with Poppler (`pdftotext -bbox`), which knows nothing of us."""

import itertools
import subprocess
from dataclasses import dataclass

from lxml import etree

# Marks that turn the direction of what is written, and show nothing.
_UNSEEN = dict.fromkeys(map(ord, "\u200e\u200f\u202a\u202b\u202c\u2066\u2067\u2068\u2069"))
# The running lines stand in the text too, too small to be seen.
_SMALLEST_SEEN = 1.0  # [pt]


@dataclass(frozen=True, slots=True)
class Word:
    """A word and the box it fills. [pt from the upper left corner of its page]"""

    text: str
    page: int
    left: float
    top: float
    right: float
    bottom: float

    def shared_with(self, other):
        """The part of the smaller of both boxes that both fill."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(across, 0) * max(down, 0) / min(self.area, other.area)

    @property
    def area(self):
        return (self.right - self.left) * (self.bottom - self.top)


@dataclass(frozen=True, slots=True)
class Page:
    """A page's size, and its words that can be seen."""

    width: float
    height: float
    words: tuple[Word, ...]

    @property
    def beyond_the_edge(self):
        return [
            word.text
            for word in self.words
            if word.left < 0 or word.top < 0 or word.right > self.width or word.bottom > self.height
        ]

    @property
    def on_top_of_each_other(self):
        return [
            (one.text, other.text)
            for one, other in itertools.combinations(self.words, 2)
            if abs(one.top - other.top) < 20 and one.shared_with(other) > 0.25
        ]


def pages_of(pdf, folder):
    """The pages of a PDF."""
    (folder / "paper.pdf").write_bytes(pdf)
    subprocess.run(["pdftotext", "-bbox", "paper.pdf", "words.xml"], cwd=folder, check=True, timeout=60)
    found = []
    for number, page in enumerate(etree.parse(folder / "words.xml").iter("{http://www.w3.org/1999/xhtml}page"), 1):
        words = (
            Word((word.text or "").translate(_UNSEEN), number, *(float(word.get(side)) for side in SIDES))
            for word in page
        )
        seen = tuple(word for word in words if word.bottom - word.top > _SMALLEST_SEEN)
        found.append(Page(float(page.get("width")), float(page.get("height")), seen))
    return found


SIDES = ("xMin", "yMin", "xMax", "yMax")
