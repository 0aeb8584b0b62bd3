"""The timing tape for one car's wheel, on paper at true scale: what is asked for, and the sheet to cut it from."""

from dataclasses import dataclass
from datetime import datetime
from math import pi
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.template.loader import render_to_string

from garage.papers.setting import set_paper
from garage.people.queries import get_workshop
from garage.quantities.typed import FigureField
from jobs.job.cautions import STROBE_LIGHT, TURNING
from jobs.job.models import Job
from timing.sheets.tape import STEPS, Mark, Place, Strip, Tape, Turning

# What is left between the margins of an A4 page on its side, less a little for a printer that feeds askew. [mm]
LONGEST_STRIP = 262.0
# Pulleys of cars, as the car's record has them. [mm]
SMALLEST, LARGEST = 50.0, 400.0
# Somebody who measures both with a tape and a caliper is this far out at most: common practice, no source. [mm]
DISAGREE_BY = 1.0
# Below this a fine mark runs into the next in print. [mm]
NEAREST_MARKS = 0.4

# The marks hang from the edge at the pointer: how deep, as a part of the tape's width.
DEPTHS = {0: 0.62, 10: 0.56, 5: 0.42, 1: 0.28}
# Below the marks a line of numbers and a line of words. [mm]
WIDE_ENOUGH_FOR_WORDS = 11.0
BEFORE, AFTER = "before TDC", "after TDC"


class TapeForm(forms.Form):
    """What a tape is made from."""

    diameter_mm = FigureField(
        label="Diameter over the rim",
        unit="mm",
        between=(SMALLEST, LARGEST),
        required=False,
        help_text="Where the tape will lie. Or give the circumference.",
    )
    circumference_mm = FigureField(
        label="Circumference of the rim",
        unit="mm",
        between=(round(SMALLEST * pi), round(LARGEST * pi)),
        required=False,
        help_text="Lay a strip of paper once round the rim and measure it.",
    )
    turning = forms.ChoiceField(
        label="Facing the wheel, it turns",
        choices=[(Turning.CLOCKWISE.value, "clockwise"), (Turning.ANTICLOCKWISE.value, "anticlockwise")],
        widget=forms.RadioSelect,
        help_text="Crank the engine briefly, ignition dead, and look.",
    )
    place = forms.ChoiceField(
        label="The tape goes on",
        choices=[(Place.WHEEL.value, "the wheel, beside a fixed pointer"), (Place.COVER.value, "the fixed cover")],
        widget=forms.RadioSelect,
        initial=Place.WHEEL.value,
    )
    before_deg = forms.IntegerField(label="Before top dead centre, °", min_value=10, max_value=180, initial=60)
    after_deg = forms.IntegerField(label="After top dead centre, °", min_value=0, max_value=180, initial=20)
    every_deg = forms.TypedChoiceField(
        label="Marks every", choices=[(step, f"{step}°") for step in STEPS], coerce=int, initial=1
    )
    width_mm = FigureField(label="Width of the tape", unit="mm", between=(8, 40), initial=12.0)
    thickness_mm = FigureField(
        label="Thickness of the paper",
        unit="mm",
        between=(0.02, 1),
        initial=0.1,
        help_text="Plain paper about 0.1, a label sheet about 0.2.",
    )

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if {"diameter_mm", "circumference_mm"} & set(self.errors):
            return values
        across, round_it = values.get("diameter_mm"), values.get("circumference_mm")
        if across is None and round_it is None:
            raise ValidationError("Give the diameter or the circumference.")
        if across is not None and round_it is not None and abs(across - round_it / pi) > DISAGREE_BY:
            other = f"{round_it:g} mm round is {round_it / pi:.1f} mm across, not {across:g} mm."
            raise ValidationError(f"{other} Measure again or clear one.")
        # The longer way is measured more exactly.
        values["diameter_mm"] = across if round_it is None else round_it / pi
        if values["diameter_mm"] * pi / 360 * values.get("every_deg", 1) < NEAREST_MARKS:
            self.add_error("every_deg", "Marks this close cannot be told apart. Choose wider ones.")
        return values

    def tape(self) -> Tape:
        """The tape that was asked for. Only of a form that is valid."""
        values = self.cleaned_data
        return Tape(
            diameter_mm=values["diameter_mm"],
            before_deg=values["before_deg"],
            after_deg=values["after_deg"],
            every_deg=values["every_deg"],
            turning=Turning(values["turning"]),
            place=Place(values["place"]),
            thickness_mm=values["thickness_mm"],
        )


@dataclass(frozen=True, slots=True)
class DrawnStrip:
    """A strip as it is printed: its marks hang from the upper edge. [mm]"""

    strip: Strip
    width_mm: float
    before_is_right: bool

    @property
    def length(self) -> str:
        return _mm(self.strip.length_mm)

    @property
    def outline(self) -> str:
        """Its line at the right would lie half outside the drawing."""
        return _mm(self.strip.length_mm - 0.1)

    @property
    def join(self) -> str:
        return "" if self.strip.join_mm is None else _mm(self.strip.join_mm)

    @property
    def marks(self) -> str:
        return "".join(self._path(mark) for mark in self.strip.marks if mark.rank)

    @property
    def centre_mark(self) -> str:
        return "".join(self._path(mark) for mark in self.strip.marks if not mark.rank)

    def _path(self, mark: Mark) -> str:
        return f"M{_mm(mark.place_mm)} 0V{_mm(self.width_mm * DEPTHS[mark.rank])}"

    @property
    def numbers(self) -> list[tuple[str, int]]:
        return [(_mm(mark.place_mm), abs(mark.degrees)) for mark in self.strip.marks if mark.rank in (0, 10)]

    @property
    def numbers_at(self) -> str:
        return _mm(self.width_mm * DEPTHS[0] + 2.7)

    @property
    def words(self) -> list[tuple[str, str, str]]:
        """What the marks are, either side of top dead centre: where, which end of it, and the words."""
        if self.width_mm < WIDE_ENOUGH_FOR_WORDS:
            return []
        centre = next((mark.place_mm for mark in self.strip.marks if mark.degrees == 0), None)
        if centre is None:
            return [("9", "start", BEFORE if self.strip.marks[0].degrees > 0 else AFTER)]
        left, right = (AFTER, BEFORE) if self.before_is_right else (BEFORE, AFTER)
        return [(_mm(centre - 2), "end", left), (_mm(centre + 2), "start", right)]

    @property
    def words_at(self) -> str:
        return _mm(self.width_mm - 0.5)


def set_tape(job: Job, tape: Tape, width_mm: float, at: datetime) -> bytes:
    """The sheet for `tape`, in strips where it is longer than the paper, `width_mm` wide.

    Raises
    ------
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    garage.papers.press.PaperNotSetError
        If it took too long, or its worker ended.
    """
    strips = [DrawnStrip(strip, width_mm, tape.before_is_right) for strip in tape.strips(LONGEST_STRIP)]
    context = {
        "job": job,
        "car": job.vehicle,
        "workshop": get_workshop(),
        "at": at,
        "tape": tape,
        "strips": strips,
        "width": _mm(width_mm),
        "ten_degrees_mm": tape.degree_mm * 10,
        "clockwise": tape.turning == Turning.CLOCKWISE,
        "on_wheel": tape.place == Place.WHEEL,
        "cautions": [TURNING, STROBE_LIGHT],
    }
    html = render_to_string("jobs/strobe/sheets/tape.html", context)
    return set_paper(html, css=["tape.css"], created=at)


def _mm(length: float) -> str:
    """To a hundred-thousandth of a millimetre, with a point whatever language the page speaks."""
    return f"{length:.5f}"
