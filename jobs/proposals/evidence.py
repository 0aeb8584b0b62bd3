"""What speaks for a proposal: the notes of runs, and what a log shows of them, as `timing` reads it."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from garage.quantities.words import plain, pressure
from jobs.roadtest.models import Load, NoteKind, RoadNote, RoadRun, Severity
from jobs.roadtest.suggested import place_of
from timing.roadlog import Driven, Pinking, Place

TIMES = {2: "twice", 3: "three times", 4: "four times"}


@dataclass(frozen=True, slots=True)
class RunLog:
    """What a logger shows of one run: pinking by its knock level, and how long each place was driven."""

    pinking: Sequence[Pinking] = ()
    driven: Sequence[Driven] = ()


Logs = Mapping[int, RunLog]  # by the id of the run


@dataclass(frozen=True, slots=True)
class Evidence:
    """One piece: pinking, or with a severity of 0 that it was fine. `note` is None where a log shows it."""

    run: RoadRun
    place: Place
    severity: float
    confidence: float = 1.0
    lasted_s: float = 0.0
    note: RoadNote | None = None

    @property
    def pinking(self) -> Pinking:
        return Pinking(self.place, self.severity, self.confidence, self.lasted_s)

    @property
    def what(self) -> str:
        """'definite pinking', 'knock in the log', 'fine here'"""
        if self.note is None:
            return f"{Severity(round(self.severity)).label} pinking in the log"
        return f"{self.note.get_severity_display()} pinking" if self.severity else NoteKind.FINE.label


@dataclass(frozen=True, slots=True)
class Drive:
    """One run as `timing` reads it."""

    run: RoadRun
    pinking: list[Evidence] = field(default_factory=list)
    fine: list[Evidence] = field(default_factory=list)
    driven: Sequence[Driven] = ()


def drive_of(run: RoadRun, notes: Iterable[RoadNote], log: RunLog | None) -> Drive:
    """The placed notes of a run that speak of pinking or of its absence, and what its log shows."""
    drive = Drive(run, driven=log.driven if log else ())
    for note in notes:
        if note.rpm is None or note.kind not in {NoteKind.PINKING, NoteKind.FINE}:
            continue
        is_pinking = note.kind == NoteKind.PINKING
        severity = float(note.severity) if is_pinking else 0.0
        (drive.pinking if is_pinking else drive.fine).append(Evidence(run, place_of(note), severity, note=note))
    drive.pinking.extend(
        Evidence(run, event.place, event.severity, event.confidence, event.seconds)
        for event in (log or RunLog()).pinking
    )
    return drive


def in_words(pieces: Sequence[Evidence], vacuum_unit: str) -> str:
    """'definite pinking, twice at 2600 rpm, 1 inHg, on Beacon hill; slight pinking at 3000 rpm, full throttle'

    A note is said in the unit in which it was read, a log in `vacuum_unit`.
    """
    said = Counter(_one_in_words(piece, vacuum_unit) for piece in pieces)
    return "; ".join(f"{what}{_times(count)} at {where}" for (what, where), count in said.items())


def _times(count: int) -> str:
    return "" if count == 1 else f", {TIMES.get(count, f'{count} times')}"


def _one_in_words(piece: Evidence, vacuum_unit: str) -> tuple[str, str]:
    where = [f"{plain(piece.place.rpm)} rpm"]
    note = piece.note
    if note is None or note.vacuum_kpa is not None:
        where.append(pressure(piece.place.vacuum, note.vacuum_unit if note and note.vacuum_unit else vacuum_unit))
    if note is not None:
        where += [text for text in (Load(note.load).label if note.load else "", note.words) if text]
    return piece.what, ", ".join(where)
