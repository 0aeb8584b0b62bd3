"""What the pages ask of the logs: of one run, of one log, and of two side by side."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from garage.quantities.words import plain
from jobs.job.models import Job
from jobs.roadlogs.findings import Shown
from jobs.roadlogs.kept_figures import KeptFigures, figures_kept
from jobs.roadlogs.models import ColumnSet, LogState, RoadLog
from jobs.roadtest.actions import in_words
from jobs.roadtest.models import NoteKind, RoadNote, RoadRun
from jobs.roadtest.queries import current_notes
from timing.inputs import FloatArray
from timing.roadlog import Grid, RoadLogError, RoadLogSettings, occupancy, place_notes

USUAL = RoadLogSettings()
LEVELS = 9


def logs_of(run: RoadRun) -> list[RoadLog]:
    """The logs of `run` that were not removed."""
    return list(run.logs.exclude(state=LogState.REMOVED).select_related("uploaded_by"))


def readable_logs_of(job: Job) -> list[RoadLog]:
    """Every log of `job` that was read, run by run."""
    logs = RoadLog.objects.filter(run__job=job, state=LogState.READY).select_related("run__map_version")
    return list(logs.order_by("run__begun_at", "pk"))


def column_set_for(header_sha256: str) -> ColumnSet | None:
    """The columns that were kept last for a log with this header."""
    return ColumnSet.objects.filter(header_sha256=header_sha256).order_by("-changed_at").first()


@dataclass(frozen=True, slots=True)
class Driven:
    """Where a log was in the cells of a grid, and what advance it had there; None where it was not."""

    seconds: FloatArray
    advance: list[list[float | None]]


def driven_on(log: RoadLog, grid: Grid) -> Driven:
    """`log` in the cells of `grid`: as it was found at the import, or again if its cells were others then."""
    shown = Shown.from_json(log.shown)
    if shown.grid == grid:
        return Driven(np.array(shown.seconds), shown.advance)
    kept = figures_kept(log.figures, "rpm", "vacuum", "advance")
    rpm, vacuum, advance = (kept.columns[name].astype(np.float64) for name in ("rpm", "vacuum", "advance"))
    found = occupancy(grid, kept.t_s, rpm=rpm, vacuum=vacuum, advance=advance)
    mean = found.mean_advance.tolist() if found.mean_advance is not None else []
    return Driven(found.seconds, mean)


@dataclass(frozen=True, slots=True)
class NoteOnLog:
    """A note of the run, and where the log was at its moment; None where the log says nothing of it."""

    note: RoadNote
    text: str
    at_s: float
    rpm: float | None
    vacuum: float | None

    @property
    def is_within(self) -> bool:
        return self.rpm is not None


def notes_on(log: RoadLog) -> list[NoteOnLog]:
    """The notes of the run on the log's clock, each placed by the stretch before it (`timing.roadlog.place_notes`)."""
    notes = current_notes(log.run)
    if not notes or log.begins_at is None:
        return []
    kept = figures_kept(log.figures, "rpm", "vacuum")
    return [_note_on(log.begins_at, note, kept) for note in notes]


def _note_on(begins_at: datetime, note: RoadNote, kept: KeptFigures) -> NoteOnLog:
    at_s = (note.at - begins_at).total_seconds()
    near = slice(
        *np.searchsorted(kept.t_s, [at_s - USUAL.window_from_s - USUAL.longest_gap_s, at_s + USUAL.longest_gap_s])
    )
    rpm = vacuum = None
    if near.stop - near.start > 1:
        try:
            placed = place_notes(
                at_s,
                kept.t_s[near],
                rpm=kept.columns["rpm"][near].astype(np.float64),
                vacuum=kept.columns["vacuum"][near].astype(np.float64),
            )
            rpm, vacuum = float(placed.rpm), float(placed.vacuum)
        except RoadLogError:  # a gap, or the engine stood
            pass
    return NoteOnLog(note, in_words(note), at_s, rpm, vacuum)


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the surface as the page prints it. `level` is its shade, 0 to 8."""

    rpm: float
    vacuum: float
    figure: str
    level: int
    notes: int = 0
    pinking: int = 0
    knock_s: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    vacuum: float
    cells: list[Cell]


def seconds_in_cells(shown: Shown) -> list[Row]:
    """Seconds in each cell. The shade goes with the root, or one long idle would leave all else pale."""
    most = max((cell for row in shown.seconds for cell in row), default=0.0)

    def level(seconds: float) -> int:
        return min(LEVELS - 1, int(LEVELS * (seconds / most) ** 0.5)) if most else 0

    return [
        Row(
            vacuum,
            [Cell(rpm, vacuum, _seconds(seconds), level(seconds)) for rpm, seconds in zip(shown.rpm, row, strict=True)],
        )
        for vacuum, row in zip(shown.vacuum, shown.seconds, strict=True)
    ]


def _seconds(seconds: float) -> str:
    """Tenths below ten seconds, so that a passing second is told from none."""
    return "" if seconds == 0 else plain(seconds, 1 if seconds < 9.95 else 0)


def felt_in_cells(log: RoadLog, shown: Shown, notes: list[NoteOnLog]) -> list[Row]:
    """The total advance at the middle of each cell, with the notes placed by the log and the seconds of knock."""
    grid = shown.grid
    table = log.run.map_version.delivered_map().total_advance().table(rpm=grid.rpm, vacuum=grid.vacuum)
    low, high = float(table.min()), float(table.max())
    counts, pinking = np.zeros(grid.shape, int), np.zeros(grid.shape, int)
    for note in notes:
        if note.rpm is not None and note.vacuum is not None and note.note.kind != NoteKind.FINE:
            row, column = grid.cells(rpm=note.rpm, vacuum=note.vacuum)
            counts[row, column] += 1
            pinking[row, column] += note.note.kind == NoteKind.PINKING
    knock = np.array(shown.knock_seconds) if shown.knock_seconds is not None else np.zeros(grid.shape)
    span = max(high - low, 1e-9)
    return [
        Row(
            vacuum,
            [
                Cell(
                    rpm,
                    vacuum,
                    plain(float(table[row, column]), 1),
                    min(LEVELS - 1, int(LEVELS * (float(table[row, column]) - low) / span)),
                    int(counts[row, column]),
                    int(pinking[row, column]),
                    _seconds(float(knock[row, column])),
                )
                for column, rpm in enumerate(grid.rpm)
            ],
        )
        for row, vacuum in enumerate(grid.vacuum)
    ]


@dataclass(frozen=True, slots=True)
class NotDriven:
    """The speeds of one vacuum at which the engine was not driven."""

    vacuum: float
    speeds: str


def not_driven(shown: Shown) -> tuple[int, list[NotDriven]]:
    """How many cells were driven for less than `quiet_s`, and which, vacuum by vacuum in runs of speeds."""
    rows, count = [], 0
    for vacuum, row in zip(shown.vacuum, shown.seconds, strict=True):
        places = [place for place, seconds in enumerate(row) if seconds < USUAL.quiet_s]
        count += len(places)
        if places:
            rows.append(NotDriven(vacuum, _in_runs(places, shown.rpm)))
    return count, rows


def _in_runs(places: list[int], rpm: list[float]) -> str:
    runs: list[list[int]] = []
    for place in places:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return ", ".join(
        f"{rpm[run[0]]:.0f}" if len(run) == 1 else f"{rpm[run[0]]:.0f} to {rpm[run[-1]]:.0f}" for run in runs
    )


@dataclass(frozen=True, slots=True)
class Pair:
    """One cell of two logs: seconds and mean advance of each, and how much the second had more. [degrees]"""

    rpm: float
    seconds: tuple[str, str]
    advance: tuple[float | None, float | None]
    more: float | None
    level: int


@dataclass(frozen=True, slots=True)
class PairRow:
    vacuum: float
    pairs: list[Pair]


def side_by_side(first: RoadLog, second: RoadLog) -> list[PairRow]:
    """Both logs in the cells of the first. The shade is how much the advance differs."""
    grid = Shown.from_json(first.shown).grid
    left, right = driven_on(first, grid), driven_on(second, grid)
    rows = []
    for row, vacuum in enumerate(grid.vacuum):
        pairs = []
        for column, rpm in enumerate(grid.rpm):
            before, after = left.advance[row][column], right.advance[row][column]
            more = None if before is None or after is None else round(after - before, 1)
            seconds = (_seconds(float(left.seconds[row, column])), _seconds(float(right.seconds[row, column])))
            level = 0 if more is None else min(LEVELS - 1, int(abs(more) * 2))
            pairs.append(Pair(rpm, seconds, (before, after), more, level))
        rows.append(PairRow(vacuum, pairs))
    return rows
