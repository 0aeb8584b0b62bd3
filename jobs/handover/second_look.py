"""The strobe read again by whoever works alone, before they sign off their own work."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from garage.people.queries import get_workshop
from garage.quantities.words import plain
from jobs.handover.refusals import HandoverRuleError
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from timing.errors import TimingError
from timing.tolerance import exceeds

# Two speeds as far apart as these tell a shifted base from a wrong curve. Common practice, no source.
LEAST_SPEEDS = 2
SPEEDS_APART_RPM = 500.0
# Above idle, and where a road engine's curve has most of its advance. Common practice, no source.
LOW_AND_HIGH_RPM = (1000.0, 3000.0)


@dataclass(frozen=True, slots=True)
class Look:
    """One reading of the second look, with what the map gives there and what was allowed on that day."""

    rpm: float
    measured_deg: float
    expected_deg: float
    tolerance_deg: float

    @property
    def passes(self) -> bool:
        return not exceeds(abs(self.measured_deg - self.expected_deg), self.tolerance_deg)

    @property
    def in_words(self) -> str:
        said = f"{plain(self.measured_deg)}° at {plain(self.rpm)} rpm"
        off = abs(self.measured_deg - self.expected_deg)
        return said if self.passes else f"{said}, {off:.1f}° off ({plain(self.tolerance_deg)}° allowed)"

    @property
    def data(self) -> dict[str, float]:
        return asdict(self)


def speeds_to_hold(version: MapVersion) -> tuple[float, float] | None:
    """Two speeds of the map to read the strobe at again, low and high; None where it has no two so far apart.

    They are points of the curve, whatever the first readings were taken at: those are not shown.
    """
    low, high = LOW_AND_HIGH_RPM
    speeds = [float(rpm) for rpm, _ in version.curve]
    first = min(speeds, key=lambda rpm: abs(rpm - low))
    second = min(speeds, key=lambda rpm: abs(rpm - high))
    return (first, second) if second - first >= SPEEDS_APART_RPM else None


def read_by(version: MapVersion, readings: Sequence[tuple[float, float]]) -> list[Look]:
    """The readings, pipe off, against what `version` gives at their speeds."""
    speeds = sorted(rpm for rpm, _ in readings)
    if len(speeds) < LEAST_SPEEDS or speeds[-1] - speeds[0] < SPEEDS_APART_RPM:
        raise HandoverRuleError(f"Read the strobe again at {LEAST_SPEEDS} speeds, {SPEEDS_APART_RPM:.0f} rpm apart.")
    tolerance = get_workshop().strobe_tolerance_deg
    try:
        return [
            Look(rpm, measured, maps.expected_advance(version.pk, rpm, 0.0), tolerance) for rpm, measured in readings
        ]
    except TimingError as refusal:
        raise HandoverRuleError(str(refusal)) from None
