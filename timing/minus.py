"""The minus sign of figures that people read."""

from __future__ import annotations

MINUS = "\u2212"


def with_minus(text: str) -> str:
    """The text of a figure with the minus sign that people read (U+2212), which is as wide as a plus."""
    return text.replace("-", MINUS)
