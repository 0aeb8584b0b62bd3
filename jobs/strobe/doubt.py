"""A reading that looks like a slip of the hand: asked about before it is saved, and settled by whoever typed it."""

from dataclasses import dataclass
from uuid import UUID

from garage.quantities.words import exactly, plain
from jobs.maps.rotor_values import rotor_values, wastes_sparks
from jobs.strobe.expected import expected_deg
from jobs.strobe.models import StrobeReading, StrobeSession
from timing.strobe import LampKind, SlipKind, doubtful_readings

# What was read where the typed figure is that slip.
_MEANT = {SlipKind.HALF: 2.0, SlipKind.SIGN_TURNED: -1.0, SlipKind.TWICE: 0.5}


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about one reading. [degrees of crank before top dead centre]"""

    question: str
    typed_deg: float
    corrected_deg: float

    @property
    def typed(self) -> str:
        """The figure as it was typed, as the page sends it back."""
        return exactly(self.typed_deg)

    @property
    def corrected(self) -> str:
        return exactly(self.corrected_deg)


@dataclass(frozen=True, slots=True)
class Settled:
    """How a doubt was settled: kept as typed, or corrected."""

    doubt: Doubt
    is_corrected: bool

    @property
    def measured_deg(self) -> float:
        return self.doubt.corrected_deg if self.is_corrected else self.doubt.typed_deg

    @property
    def sentence(self) -> str:
        """For the trail: what was asked, and what was answered."""
        if self.is_corrected:
            return f"Typed {plain(self.doubt.typed_deg)}°, corrected when asked: {self.doubt.question}"
        return f"Kept as typed when asked: {self.doubt.question}"


def doubt_about(
    session: StrobeSession, *, id: UUID, rpm: float, measured_deg: float, vacuum_kpa: float | None = None
) -> Doubt | None:
    """Whether a reading that is about to be saved looks like a slip; None where it does not, or is saved already.

    Raises
    ------
    TimingError
        If a figure is out of the range of the map.
    """
    if StrobeReading.objects.filter(pk=id, measured_deg=measured_deg).exists():
        return None
    found = doubtful_readings(
        measured_deg,
        expected_deg(session, rpm, vacuum_kpa),
        lamp=session.lamp_kind,
        wasted_spark=is_wasted_spark(session),
    )
    if found is None:
        return None
    return Doubt(found.question, measured_deg, _MEANT[found.kind] * measured_deg)


def is_wasted_spark(session: StrobeSession) -> bool:
    """Whether each cylinder of the session's car sparks on every turn."""
    return wastes_sparks(session.job.vehicle, rotor_values(session.job).has_rotor)


def cautions_of(session: StrobeSession) -> list[str]:
    """What to mind with the strobe of this session. Common practice, no source."""
    cautions = []
    if session.lamp_kind is LampKind.DIAL_BACK:
        cautions.append("Dial-back strobe: set the dial to 0 and read the scale. The dial adds a delay of its own.")
    if session.lamp_kind is not LampKind.PLAIN and is_wasted_spark(session):
        cautions.append("Wasted spark: a dial-back strobe shows twice the advance. Set its dial to 0.")
    return cautions


def settled_by(doubt: Doubt, *, keep: str, correct: str) -> Settled | None:
    """How somebody settled `doubt` with one of its two buttons; None while it is open.

    A button names the figure it stands for: of a figure that was changed meanwhile it says nothing.
    """
    if keep == doubt.typed:
        return Settled(doubt, is_corrected=False)
    if correct == doubt.corrected:
        return Settled(doubt, is_corrected=True)
    return None
