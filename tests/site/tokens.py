"""Reads the tokens out of the stylesheet, and reckons contrast as the open standard does."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
TOKENS = ROOT / "static" / "css" / "tokens.css"
TOKEN = re.compile(r"--(?P<name>[a-z0-9-]+):\s*(?P<value>[^;]+);")


def block(selector: str) -> dict[str, str]:
    """The tokens that stand in the first rule of the stylesheet with exactly this selector."""
    text = re.sub(r"/\*.*?\*/", "", TOKENS.read_text(encoding="utf-8"), flags=re.DOTALL)
    rule = re.search(r"(?:^|\n)\s*" + re.escape(selector) + r"\s*\{(?P<body>[^}]*)\}", text)
    assert rule, f"no rule for {selector}"
    return {match["name"]: match["value"].strip() for match in TOKEN.finditer(rule["body"])}


LIGHT = block(":root")
DARK_BY_DEVICE = block(':root:not([data-theme="light"])')
DARK_BY_CHOICE = block(':root[data-theme="dark"]')
SCHEMES = {"light": LIGHT, "dark": {**LIGHT, **DARK_BY_CHOICE}}


def luminance(colour: str) -> float:
    """Relative luminance of #RRGGBB, 0 to 1. Source: W3C, WCAG 2.2, definition of 'relative luminance'."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Source: W3C, WCAG 2.2, definition of 'contrast ratio'."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
