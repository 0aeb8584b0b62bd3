"""The colours that a document prints, and that a screen falls back on before its style sheet has arrived."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """The tokens of the look, as presentation attributes want them.

    Attributes
    ----------
    sheet, ink, pencil, hairline, marking, stop, caution, good : str
        The tokens of the same name, on white paper.
    shades : tuple of str
        One hue by lightness, palest first; the classes of the surface.
    on_shades : tuple of str
        The colour of the figure printed on each shade; every pair reaches 4.5:1.
    font : str
        Families in order of preference.
    """

    sheet: str
    ink: str
    pencil: str
    hairline: str
    marking: str
    stop: str
    caution: str
    good: str
    shades: tuple[str, ...]
    on_shades: tuple[str, ...]
    font: str


_INK, _SHEET = "#1B1F23", "#FFFFFF"

PRINT = Palette(
    sheet=_SHEET,
    ink=_INK,
    pencil="#59616A",
    hairline="#D8D3C7",
    marking="#174E8C",
    stop="#A32018",
    caution="#855300",
    good="#1B6638",
    shades=(
        "#F4F5F5",
        "#E0E6EC",
        "#CCD7E2",
        "#B8C8D9",
        "#A4B9CF",
        "#91AAC6",
        "#3F6C9F",
        "#295B94",
        "#174E8C",
    ),
    on_shades=(_INK,) * 6 + (_SHEET,) * 3,
    font="sans-serif",
)
