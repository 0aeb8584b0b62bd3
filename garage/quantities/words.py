"""Figures as words and digits for people: the same everywhere on screen, on paper and in the journal."""

from decimal import Decimal
from math import isfinite

from timing.minus import with_minus
from timing.units import convert


def plain(figure: float, decimals: int | None = None) -> str:
    """The figure without noise: 12 for 12.000000001, 8.5 for 8.5; a fixed number of places when asked for.

    For people to read. What a box, a script or an address takes in again is `bare`.
    """
    return with_minus(bare(figure, decimals))


def bare(figure: float, decimals: int | None = None) -> str:
    """The figure as `plain` has it, in ASCII: for boxes, scripts and addresses."""
    if decimals is not None:
        text = f"{figure:.{decimals}f}"
        return text if float(text) else f"{0:.{decimals}f}"
    text = f"{figure:.6g}"
    if "e" in text:
        text = f"{figure:.0f}"
    return "0" if text == "-0" else text


def exactly(figure: float) -> str:
    """The figure as a box of a form holds it: 72 for 72.0, and every digit that was typed."""
    return f"{figure:.12g}"


def figure_text(figure: float, decimals: int) -> str:
    """`figure` with at least `decimals` decimals, and never fewer than were typed: 1.654 must not look like 1.65."""
    if not isfinite(figure):
        return f"{figure}"
    exact = Decimal(f"{figure:.12g}")  # free of the noise of a conversion
    exponent = int(exact.normalize().as_tuple().exponent)
    return with_minus(f"{exact:.{max(-exponent, decimals)}f}")


def advance(degrees: float, decimals: int | None = None) -> str:
    """Crank degrees as the trade says them: '8° BTDC', '2° ATDC', 'TDC' for nought."""
    text = plain(abs(degrees), decimals)
    if not float(text):
        return "TDC"
    return f"{text}° {'BTDC' if degrees > 0 else 'ATDC'}"


def late(degrees: float, decimals: int | None = None) -> str:
    """How far a spark comes from where it should: '1.5° late', '10° early', '0°'."""
    text = plain(abs(degrees), decimals)
    if not float(text):
        return f"{text}°"
    return f"{text}° {'late' if degrees > 0 else 'early'}"


def pressure(kpa: float, unit: str = "kPa", decimals: int | None = None) -> str:
    """A canonical pressure in `unit`, with the unit; no finer than a gauge is read, unless places are asked for."""
    figure = float(convert(kpa, "kPa", unit))
    return f"{plain(round(figure, 2) if decimals is None else figure, decimals)} {unit}"
