"""What the pages of a log show, in the person's unit and as times that people read."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from garage.quantities.measure import VACUUM
from jobs.roadlogs import queries
from jobs.roadlogs.findings import KNOCK_PAUSE_S, Shown
from jobs.roadlogs.forms import ClockForm
from jobs.roadlogs.models import RoadLog
from jobs.roadlogs.queries import USUAL
from jobs.roadlogs.time_line import table_of

SHOWN_KNOCKS = 100


def at_words(at_s: float) -> str:
    """'12:30.5' for a place on the time line, '1:02:03.0' beyond an hour, with a minus before its beginning."""
    tenths = round(abs(at_s) * 10)
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    text = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    return f"{'−' if at_s < 0 and tenths else ''}{text}:{rest / 10:04.1f}"


def clock_unit(seconds: float) -> str:
    """How `at_words` is read."""
    return "h:min:s" if round(seconds * 10) >= 36_000 else "min:s"


@dataclass(frozen=True, slots=True)
class KnockLine:
    at: str
    seconds: float
    rpm: float
    vacuum: float
    level: float


@dataclass(frozen=True, slots=True)
class SteadyLine:
    at: str
    seconds: float
    rpm: float
    vacuum: float


@dataclass(frozen=True, slots=True)
class NoteLine:
    text: str
    at: str
    at_s: float
    letter: str
    rpm: float | None
    vacuum: float | None


@dataclass(frozen=True, slots=True)
class MinuteLine:
    at: str
    rpm: tuple[float, float]
    vacuum: tuple[float, float]
    advance: tuple[float, float]


def log_context(log: RoadLog, vacuum_unit: str, clock_form: ClockForm | None) -> dict[str, Any]:
    """Everything the page of a log that was read shows."""
    shown = Shown.from_json(log.shown)
    notes = queries.notes_on(log)
    not_driven_count, not_driven = queries.not_driven(shown)
    cell_count = len(shown.rpm) * len(shown.vacuum)
    begins_s = (log.begins_at - log.run.begun_at).total_seconds() if log.begins_at else 0.0
    note_lines = [
        NoteLine(one.text, at_words(one.at_s), one.at_s, _letter(place), one.rpm, one.vacuum)
        for place, one in enumerate(notes)
    ]
    return {
        "shown": shown,
        "duration": at_words(shown.duration_s),
        "duration_unit": clock_unit(shown.duration_s),
        "driven_s": sum(sum(row) for row in shown.seconds),
        "usual": USUAL,
        "knock_pause_s": KNOCK_PAUSE_S,
        "occupancy": queries.seconds_in_cells(shown),
        "felt": queries.felt_in_cells(log, shown, notes),
        "driven_count": cell_count - not_driven_count,
        "driven_of": f"of {cell_count}",
        "cell_count": cell_count,
        "not_driven_count": not_driven_count,
        "not_driven": not_driven,
        "notes": note_lines,
        "notes_beyond": sum(not one.is_within for one in notes),
        "steady": [SteadyLine(at_words(one[0]), one[1] - one[0], one[2], one[3]) for one in shown.steady],
        "knocks": [KnockLine(at_words(one[0]), *one[1:]) for one in shown.knocks[:SHOWN_KNOCKS]],
        "minutes": [MinuteLine(at_words(one.from_s), one.rpm, one.vacuum, one.advance) for one in table_of(log)],
        "clock_form": clock_form or ClockForm(initial={"begins_s": round(begins_s, 1)}),
        "time_line_data": _time_line_data(log, shown, note_lines, begins_s, vacuum_unit),
    }


def _time_line_data(
    log: RoadLog, shown: Shown, notes: list[NoteLine], begins_s: float, vacuum_unit: str
) -> dict[str, Any]:
    """What the script of the time line needs besides its windows."""
    return {
        "url": reverse("roadlogs:window", args=[log.run.job.code, log.pk]),
        "duration": shown.duration_s,
        "begins": begins_s,
        "lines": [
            {"name": "Speed", "unit": "rpm", "factor": 1.0, "span": shown.span["rpm"], "step": 500},
            {
                "name": "Vacuum",
                "unit": vacuum_unit,
                "factor": VACUUM.in_unit(1.0, vacuum_unit),
                "span": shown.span["vacuum"],
                "step": 10,
            },
            {"name": "Advance", "unit": "°", "factor": 1.0, "span": shown.span["advance"], "step": 5},
        ],
        "notes": [{"at": note.at_s, "letter": note.letter, "text": note.text} for note in notes],
        "steady": [one[:2] for one in shown.steady],
        "knocks": [[one[0], one[0] + one[1]] for one in shown.knocks],
    }


def _letter(place: int) -> str:
    """A, B … Z, then AA, AB …"""
    first, last = divmod(place, 26)
    return (chr(ord("A") + first - 1) if first else "") + chr(ord("A") + last)


def pair_context(first: RoadLog, second: RoadLog, vacuum_unit: str) -> dict[str, Any]:
    """Two logs side by side."""
    return {
        "pair": [_side(first), _side(second)],
        "rows": queries.side_by_side(first, second),
        "speeds": Shown.from_json(first.shown).rpm,
        "same_route": first.run.route == second.run.route,
        "vacuum_unit": vacuum_unit,
    }


def _side(log: RoadLog) -> dict[str, Any]:
    shown = Shown.from_json(log.shown)
    not_driven_count, _ = queries.not_driven(shown)
    return {
        "log": log,
        "duration": at_words(shown.duration_s),
        "duration_unit": clock_unit(shown.duration_s),
        "not_driven": not_driven_count,
        "knocks": shown.knock_count if shown.knock_seconds is not None else None,
        "notes": [one.text for one in queries.notes_on(log)],
    }
