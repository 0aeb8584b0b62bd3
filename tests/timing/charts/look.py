"""Reads the look of the charts out of their style sheet: which token colours which part of a class."""

import re
from pathlib import Path

SHEET = Path(__file__).resolve().parents[3] / "static" / "css" / "charts.css"


def colours() -> dict[str, dict[str, str]]:
    """Token of 'stroke' and 'fill' by class, from the rules whose selector is one class alone."""
    text = re.sub(r"/\*.*?\*/", "", SHEET.read_text(encoding="utf-8"), flags=re.DOTALL)
    found: dict[str, dict[str, str]] = {}
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        tokens = dict(re.findall(r"(stroke|fill): var\(--([a-z0-9-]+)\)", body))
        for selector in selectors.split(","):
            if re.fullmatch(r"\.[a-z0-9-]+", selector.strip()):
                found.setdefault(selector.strip()[1:], {}).update(tokens)
    return found
