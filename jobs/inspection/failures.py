"""What the inspection found that is not as it should be: each with its figure and its limit."""

from dataclasses import dataclass

from garage.quantities.words import plain
from jobs.checklists import queries as checklists
from jobs.checklists.models import ItemKind, SheetKind
from jobs.checklists.sheet import Line
from jobs.inspection import queries
from jobs.job.models import Job

# Less than this of the best cylinder is no compression, whatever spread the workshop allows (common practice, no
# source): a valve, a piston or a gasket is gone.
NO_COMPRESSION = 0.3


@dataclass(frozen=True, slots=True)
class Failure:
    """One thing that failed. A `stops` one keeps the engine from being called ready unless the owner decides.

    What was not looked at has failed for whoever calls the engine ready; it was not `found` to be bad.
    """

    key: str
    text: str
    stops: bool
    found: bool = True


def failures_of(job: Job) -> list[Failure]:
    """Everything that failed on the inspection, what stops first."""
    found = [*_of_the_sheet(job), *_of_the_mark(job), *_of_the_compression(job)]
    return sorted(found, key=lambda failure: not failure.stops)


def _of_the_sheet(job: Job) -> list[Failure]:
    sheet = checklists.sheet(job, SheetKind.INSPECTION)
    lines = sheet.lines if sheet else []
    return [Failure(line.item.key, _in_words(line), line.item.hold_point) for line in lines if _failed(line)]


def _failed(line: Line) -> bool:
    # What the sheet only reads is judged below, with the figures it comes from.
    return line.item.kind != ItemKind.READING and not line.is_open and line.verdict.mark == "stop"


def _in_words(line: Line) -> str:
    value = line.comparison.sentence if line.is_unsettled and line.comparison else line.said
    return f"{line.item.text}: {value}"


def _of_the_mark(job: Job) -> list[Failure]:
    mark = queries.mark_found(job)
    if mark is None or mark.holds:
        return []
    return [
        Failure("mark", f"Timing mark: {plain(mark.error_deg, 1)}° off (limit {mark.tolerance_deg:g}°)", stops=True)
    ]


def _of_the_compression(job: Job) -> list[Failure]:
    squeeze = queries.compression(job)
    found = []
    if squeeze.unread:
        which = ", ".join(map(str, squeeze.unread))
        found.append(Failure("compression-unread", f"Compression not read: cylinder {which}", stops=True, found=False))
    best = max((reading.gauge_kpa for reading in squeeze.readings), default=0.0)
    dead = [reading.cylinder for reading in squeeze.readings if reading.gauge_kpa <= NO_COMPRESSION * best]
    if dead:
        which = ", ".join(map(str, dead))
        found.append(Failure("compression-none", f"No compression worth the name: cylinder {which}", stops=True))
    if squeeze.even is False and squeeze.spread is not None:
        text = f"Compression spread: {squeeze.spread:.0%} (limit {squeeze.allowed_spread:.0%})"
        found.append(Failure("compression-spread", text, stops=True))
    return found
