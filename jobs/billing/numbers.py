"""The number of a bill in the workshop's own form, such as 2026-0042."""

import re
from dataclasses import dataclass
from datetime import date

_ALLOWED = re.compile(r"[A-Za-z0-9#/. -]+")
_YEAR = re.compile(r"(?<!Y)(?:YYYY|YY)(?!Y)")
_SERIAL = re.compile(r"#+")
MOST_DIGITS = 8


@dataclass(frozen=True, slots=True)
class NumberForm:
    """`#` stands for a digit of the serial, YYYY or YY for the year of the bill.

    With a year in it numbers begin at 1 each year; without one they run on.

    Raises
    ------
    ValueError
        If numbers of this form could not be told apart, with what is wrong as a sentence.
    """

    text: str

    def __post_init__(self) -> None:
        if not _ALLOWED.fullmatch(self.text):
            raise ValueError("Use letters, digits, spaces and - / . only, with # for the running digits.")
        runs = _SERIAL.findall(self.text)
        if len(runs) != 1 or len(runs[0]) > MOST_DIGITS:
            raise ValueError(f"Give 1 to {MOST_DIGITS} # in one place, for example YYYY-####.")
        if len(_YEAR.findall(self.text)) > 1:
            raise ValueError("Give the year once: YYYY or YY.")

    def series(self, day: date) -> int:
        """The row of numbers to which a bill of `day` belongs: its year, or 0 for numbers that run on."""
        return day.year if _YEAR.search(self.text) else 0

    def number(self, day: date, serial: int) -> str:
        """The number `serial` of the row: with more digits than asked for, once it needs them."""
        dated = _YEAR.sub(lambda found: f"{day.year:04d}"[-len(found[0]) :], self.text)
        return _SERIAL.sub(lambda found: f"{serial:0{len(found[0])}d}", dated)
