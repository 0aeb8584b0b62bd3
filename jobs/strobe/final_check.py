"""The final check before handover: the map proven on the running engine, by speed and, where it has one, by vacuum."""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.strobe.queries import Judged, final_check

# What makes a check final, pipe off and pipe on: common practice, no source.
LEAST_SPEEDS = 3
LEAST_VACUUMS = 2
# Closer together, two readings are of the same vacuum: a gauge is read no finer.
VACUUMS_APART_KPA = 5.0


@dataclass(frozen=True, slots=True)
class FinalCheck:
    """The final check as read so far, and what it still lacks, in words."""

    found: Judged | None
    missing: tuple[str, ...]

    @property
    def passes(self) -> bool:
        return not self.missing


def final_check_of(job: Job) -> FinalCheck:
    """Whether the final check of the map in the car is whole and within tolerance."""
    found = final_check(job)
    if found is None:
        return FinalCheck(None, ("the final strobe check of the map in the car",))
    missing = []
    pipe_off = {reading.rpm for reading in found.readings if not reading.vacuum_kpa}
    if len(pipe_off) < LEAST_SPEEDS:
        missing.append(f"the final check, pipe off, at {LEAST_SPEEDS} speeds ({len(pipe_off)} so far)")
    version = maps.version_in_car(job)
    if version is not None and version.ignition_map().vacuum is not None:
        read = _different(reading.vacuum_kpa for reading in found.readings if reading.vacuum_kpa)
        if read < LEAST_VACUUMS:
            missing.append(f"the final check, pipe on, at {LEAST_VACUUMS} vacuums ({read} so far)")
    if not found.holds:
        missing.append("a passed final strobe check")
    return FinalCheck(found, tuple(missing))


def _different(vacuums: Iterable[float]) -> int:
    """How many of the vacuums are apart from each other."""
    counted: list[float] = []
    for kpa in sorted(vacuums):
        if not counted or kpa - counted[-1] >= VACUUMS_APART_KPA:
            counted.append(kpa)
    return len(counted)
