"""The loop of a job as one picture: each version, its read-back, its drives, their notes, and what came of them."""

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format

from jobs.bench.pictures import NARROW, WIDE
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from jobs.proposals.queries import open_proposal
from jobs.roadtest.models import NoteKind
from jobs.roadtest.queries import current_notes
from timing.charts import LoopChart, Station, StationState, loop_chart

# Older rounds are in the versions' own pages; a job card shows where the car stands.
MOST_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Round:
    """One version with its steps, and where each is read."""

    version: MapVersion
    stations: list[Station]


@dataclass(frozen=True, slots=True)
class Loop:
    """The rounds of a job, as a picture and as a list."""

    rounds: list[Round]
    wide: LoopChart
    narrow: LoopChart


def loop_of(job: Job) -> Loop | None:
    """The last rounds of a job; None while no version is released."""
    versions = list(
        job.map_versions.filter(set_aside_at=None)
        .order_by("number")
        .prefetch_related("read_backs", "road_runs__notes", "proposals__draft", "children")
    )
    if not any(version.released_at for version in versions):
        return None
    in_car = maps.version_in_car(job)
    waiting = open_proposal(job)
    rounds = [
        Round(version, _stations(version, in_car, is_waiting=waiting is not None and waiting.waits))
        for version in versions[-MOST_ROUNDS:]
    ]
    stations = [one.stations for one in rounds]
    return Loop(
        rounds, loop_chart(stations, uid="loop", width=WIDE), loop_chart(stations, uid="loop-narrow", width=NARROW)
    )


def _stations(version: MapVersion, in_car: MapVersion | None, *, is_waiting: bool) -> list[Station]:
    steps = [
        (f"version {version.number}", _day(version.released_at) if version.released_at else ""),
        ("read back", _read_back(version)),
        ("driven", _driven(version)),
        ("noted", _noted(version)),
        ("proposal", _proposal(version, is_waiting=is_waiting and in_car is not None and version.pk == in_car.pk)),
    ]
    stations: list[Station] = []
    for name, detail in steps:
        is_done = bool(detail) and detail != "waiting"
        is_next = all(station.state == "done" for station in stations)
        state: StationState = "done" if is_done else "now" if is_next else "ahead"
        stations.append(Station(name, detail or ("not yet" if stations else "draft"), state))
    return stations


def _read_back(version: MapVersion) -> str:
    clean = [read for read in version.read_backs.all() if read.clean]
    return f"clean, {_day(clean[-1].made_at)}" if clean else ""


def _driven(version: MapVersion) -> str:
    runs = version.road_runs.all()
    return "" if not runs else "once" if len(runs) == 1 else f"{len(runs)} times"


def _noted(version: MapVersion) -> str:
    notes = [note for run in version.road_runs.all() for note in current_notes(run)]
    if not version.road_runs.all():
        return ""
    pinking = sum(note.kind == NoteKind.PINKING for note in notes)
    others = sum(note.kind not in {NoteKind.PINKING, NoteKind.FINE, NoteKind.MARK} for note in notes)
    said = [f"{pinking} pinking" if pinking else "", f"{others} other" if others else ""]
    return ", ".join(text for text in said if text) or "clean"


def _proposal(version: MapVersion, *, is_waiting: bool) -> str:
    """What came of the notes: a proposal that waits or was decided, a next version by hand, or nothing to do."""
    if is_waiting:
        return "waiting"
    decided = [made for made in version.proposals.all() if made.draft is None or made.draft.set_aside_at is None]
    if decided:
        return str(decided[-1].draft or "refused")
    by_hand = [child for child in version.children.all() if child.set_aside_at is None]
    if by_hand:
        return f"by hand: {by_hand[-1].number}"
    return "none" if version.road_runs.all() else ""


def _day(at: datetime) -> str:
    return date_format(timezone.localtime(at), "j M")
