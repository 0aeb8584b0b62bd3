"""A timing tape laid flat: where its marks are, which way its numbers run, and the strips it is cut into."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from timing.crank import CrankError, tape_length
from timing.inputs import number

# What the next strip is glued to. [mm]
LAP_MM = 8.0
# Blank paper before the first mark and after the last, so that no number is cut. [mm]
BLANK_MM = 6.0
# Every tenth mark has a number: strips are joined half way between two, where no number is cut through.
_NUMBERED = 10
_HALF_WAY = 5

STEPS = (1, 2, 5, 10)


class Turning(Enum):
    """Which way the wheel turns for somebody who faces it."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class Place(Enum):
    """What the tape is stuck on: the wheel, read at a fixed pointer, or the cover, read at a line on the wheel."""

    WHEEL = "wheel"
    COVER = "cover"


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark of a strip.

    Attributes
    ----------
    degrees : int
        Crank degrees before top dead centre; negative after it.
    place_mm : float
        From the strip's left end. [mm]
    rank : int
        10 for a numbered mark, 5 for one half way between two, 1 for any other; 0 for top dead centre itself.
    """

    degrees: int
    place_mm: float
    rank: int


@dataclass(frozen=True, slots=True)
class Strip:
    """One piece of the tape, as it is cut out.

    Attributes
    ----------
    number : int
        From 1, in the order from left to right.
    length_mm : float
        From cut to cut, with what the next one covers. [mm]
    marks : tuple of Mark
        From left to right.
    join_mm : float or None
        Where the cut edge of the next strip is laid; None on the last one. [mm]
    """

    number: int
    length_mm: float
    marks: tuple[Mark, ...]
    join_mm: float | None


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape for one wheel.

    Attributes
    ----------
    diameter_mm : float
        Of what it is laid on. [mm]
    thickness_mm : float
        Of the tape. [mm]
    before_deg, after_deg : int
        How far it reaches either side of top dead centre. [degrees of crank]
    every_deg : int
        From one mark to the next: one of `STEPS`. [degrees of crank]
    turning : Turning
        Which way the wheel turns for whoever faces it.
    place : Place
        What it is stuck on.

    Raises
    ------
    CrankError
        If it reaches nowhere or further than round the wheel, or has other steps.
    TimingError
        If the diameter is not above zero or the thickness negative.
    """

    diameter_mm: float
    before_deg: int
    after_deg: int
    every_deg: int
    turning: Turning
    place: Place
    thickness_mm: float = 0.0

    def __post_init__(self) -> None:
        number(self.before_deg, "degrees before top dead centre", low=0, high=360)
        number(self.after_deg, "degrees after top dead centre", low=0, high=360)
        if not 0 < self.before_deg + self.after_deg <= 360:
            raise CrankError(f"a tape covers up to 360 degrees, not {self.before_deg + self.after_deg}")
        if self.every_deg not in STEPS:
            raise CrankError(f"marks stand every 1, 2, 5 or 10 degrees, not {self.every_deg}")
        tape_length(self.diameter_mm, 1, self.thickness_mm)

    @property
    def degree_mm(self) -> float:
        """Length of one crank degree on the tape as it is printed. [mm]"""
        return float(tape_length(self.diameter_mm, 1, self.thickness_mm))

    @property
    def before_is_right(self) -> bool:
        """Whether the marks before top dead centre lie to the right, for a reader who faces the wheel.

        On the wheel they lie on the side that passes the pointer first, ahead of top dead centre in the sense of
        rotation; clockwise, the rim above its centre moves to the right. On the cover it is the other side: the line
        on the wheel comes past them on its way to top dead centre.

        References
        ----------
        Derived; handbook, section 2.
        """
        return (self.turning == Turning.CLOCKWISE) == (self.place == Place.WHEEL)

    def strips(self, longest_mm: float) -> list[Strip]:
        """The tape from left to right, in strips of at most `longest_mm` [mm] from cut to cut.

        Raises
        ------
        CrankError
            If a strip of that length holds less than 20 degrees.
        """
        left, right = (self.after_deg, self.before_deg) if self.before_is_right else (self.before_deg, self.after_deg)
        if (longest_mm - BLANK_MM - LAP_MM) / self.degree_mm < 2 * _NUMBERED:
            raise CrankError(f"a strip of {longest_mm:g} mm is too short for a wheel of {self.diameter_mm:g} mm")
        strips: list[Strip] = []
        begin = -left
        while True:
            blank = 0.0 if strips else BLANK_MM
            whole = blank + (right - begin) * self.degree_mm + BLANK_MM
            last = whole <= longest_mm
            end = right if last else self._join(begin, longest_mm - blank - LAP_MM)
            shift = blank - begin * self.degree_mm
            # A mark on a cut edge belongs to the strip that lies beneath.
            first = begin + bool(strips)
            marks = tuple(self._mark(at, shift) for at in range(first, end + 1) if at % self.every_deg == 0)
            join = None if last else shift + end * self.degree_mm
            strips.append(Strip(len(strips) + 1, whole if join is None else join + LAP_MM, marks, join))
            if last:
                return strips
            begin = end

    def _join(self, begin: int, room_mm: float) -> int:
        """The last place half way between two numbers that is at most `room_mm` to the right of `begin`."""
        furthest = begin + int(room_mm / self.degree_mm)
        return furthest - (furthest - _HALF_WAY) % _NUMBERED

    def _mark(self, at: int, shift: float) -> Mark:
        rank = 0 if at == 0 else _NUMBERED if at % _NUMBERED == 0 else _HALF_WAY if at % _HALF_WAY == 0 else 1
        return Mark(at if self.before_is_right else -at, shift + at * self.degree_mm, rank)
