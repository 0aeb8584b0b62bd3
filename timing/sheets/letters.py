"""Letters on paper: those written from right to left, and those that no font of this machine has."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final

# Hebrew, Arabic and their neighbours (UAX #9, classes R and AL, by their blocks).
_FROM_RIGHT_TO_LEFT: Final = re.compile(
    "[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]"
)
# What stands between them is laid out by itself, in the direction of its first letter (UAX #9, 2.4.2).
_FIRST_STRONG_ISOLATE: Final = "\u2068"
_END_OF_ISOLATE: Final = "\u2069"

# Stands for a letter that cannot be shown; every font of DejaVu has it.
REPLACEMENT: Final = "\ufffd"


def isolated(value: Any) -> Any:
    """Plain data in which whatever is written from right to left does not turn round what stands beside it.

    Without it a date after an Arabic name is drawn on the wrong side of the name.

    Parameters
    ----------
    value : dict, list, str or another value of JSON
        The data of a paper.

    Returns
    -------
    the same kind of value
        A copy, in which each line with such letters is between two marks that are not seen.
    """
    if isinstance(value, str):
        if not _FROM_RIGHT_TO_LEFT.search(value):
            return value
        return "\n".join(_one_line(line) for line in value.split("\n"))
    if isinstance(value, dict):
        return {name: isolated(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [isolated(inner) for inner in value]
    return value


def _one_line(line: str) -> str:
    if not _FROM_RIGHT_TO_LEFT.search(line):
        return line
    return f"{_FIRST_STRONG_ISOLATE}{line}{_END_OF_ISOLATE}"


def said_to_be_missing(html: str, letters: Iterable[str]) -> str:
    """A page that says which letters it cannot show, instead of boxes in their place.

    Parameters
    ----------
    html : str
        A complete document.
    letters : iterable of str
        Characters for which no font was found.

    Returns
    -------
    str
        The document with a mark in place of each, and a line at its end that names them by their numbers.
    """
    missing = sorted(set(letters))
    head, body_tag, body = html.partition("<body")
    numbers = ", ".join(f"U+{ord(letter):04X}" for letter in missing[:10])
    more = f" and {len(missing) - 10} more" if len(missing) > 10 else ""
    line = f"<p>{REPLACEMENT} is a letter this machine has no font for: {numbers}{more}.</p>"
    shown = body.translate({ord(letter): REPLACEMENT for letter in missing})
    return f"{head}{body_tag}{shown.replace('</body>', f'{line}</body>', 1)}"
