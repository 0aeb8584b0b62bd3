"""The countries of ISO 3166-1 by their two letters, as the table of the time zone database lists them."""

from functools import cache
from importlib.resources import files

from django.core.exceptions import ValidationError


@cache
def countries() -> dict[str, str]:
    """The name of each country by its two letters, in the order of the names."""
    table = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text(encoding="utf-8")
    rows = [line.split("\t") for line in table.splitlines() if line and not line.startswith("#")]
    return {letters: name for name, letters in sorted((name, letters) for letters, name in rows)}


def country_choices() -> list[tuple[str, str]]:
    """For a select: the name, and the letters that a paper carries."""
    return [("", ""), *((letters, f"{name} ({letters})") for letters, name in countries().items())]


def known_country(letters: str) -> None:
    """Refuses letters that stand for no country."""
    if letters not in countries():
        raise ValidationError("No country has these two letters.")
