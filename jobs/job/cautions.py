"""The cautions that belong to a stage. Reminders of the usual practice; local rules and the licensed person decide."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from jobs.job.models import CautionRead, Job, Stage


@dataclass(frozen=True, slots=True)
class Caution:
    title: str
    text: str


HIGH_VOLTAGE = Caution(
    "High voltage",
    "The new coil side carries tens of kilovolts and more energy than points ever did. Ignition off and battery off "
    "before touching it; lead the spark to an earthed gap, never into the open. Anyone with a pacemaker or another "
    "implant keeps away from the running engine.",
)
STROBE_LIGHT = Caution(
    "Strobe light",
    "Fan, belt and pulley look still. No loose sleeves, hair, ties, rings or lead loops near them; an "
    "electric fan may start by itself.",
)
HOT_PARTS = Caution("Hot parts", "Manifold, radiator cap, coil and plugs burn. Never open a hot cooling system.")
EXHAUST = Caution(
    "Exhaust gas",
    "Carbon monoxide is deadly and has no smell. Run the engine indoors only with extraction on and an alarm working.",
)
FUEL = Caution(
    "Fuel vapour",
    "No spark and no flame while a plug, a fuel pipe or the carburettor is open; test gaps well away from it, and an "
    "extinguisher within reach.",
)
BATTERY = Caution(
    "Battery",
    "Its gas explodes: ventilate, no sparks at the posts, rings off. Take the earthed post's lead off first and put it "
    "back last, and read which post that is: on a positive-earth car it is the other one. Take memory savers off too.",
)
TURNING = Caution(
    "Turning the engine",
    "Turn it by hand with all plugs out and the ignition dead; a kick breaks thumbs and wrists. Never turn it against "
    "a piston stop with the starter.",
)
LIFTING = Caution(
    "Jack and stands",
    "Nobody under a car that hangs on a jack. Stands locked, wheels chocked, out of gear, brake on before the engine "
    "runs.",
)
DUST = Caution(
    "Old materials",
    "Gaskets, clutches and brake linings of this age may hold asbestos, old paint lead: local rules apply.",
)
ROAD = Caution(
    "On the road",
    "Insured and legal on that road, within its limits. Check seat-belts and brakes first. The driver only drives; the "
    "note-taker writes. Alone: stop, then write. No strobe and no laptop in use by the driver. Full load is safer on a "
    "dynamometer.",
)
LAW = Caution(
    "Rules and insurance",
    "Type approval, emission or historic-vehicle rules, and the insurer, may want to know of a changed ignition or "
    "forbid it. Tell the customer.",
)

# The same, said to the customer.
LAW_FOR_THE_CUSTOMER = Caution(
    LAW.title,
    "Tell your insurer of the changed ignition. Type approval, emission or historic-vehicle rules may ask for more, or "
    "forbid it.",
)

CAUTIONS_OF: dict[Stage, list[Caution]] = {
    Stage.BOOKED: [],
    Stage.INSPECTION: [TURNING, BATTERY, EXHAUST, HOT_PARTS, DUST],
    Stage.FITTING: [BATTERY, HIGH_VOLTAGE, FUEL, LIFTING],
    Stage.BASE_TIMING: [STROBE_LIGHT, HIGH_VOLTAGE, EXHAUST, HOT_PARTS],
    Stage.MAP: [],  # made at a desk; who keys it in or reads it back sits in the car, see jobs.maps.keying_views
    Stage.ROAD_TEST: [ROAD, HOT_PARTS],
    Stage.HANDOVER: [STROBE_LIGHT, EXHAUST, LAW],
    Stage.AFTER_CARE: [STROBE_LIGHT, BATTERY, EXHAUST],
}

TITLES = {caution.title for cautions in CAUTIONS_OF.values() for caution in cautions}


def have_read(job: Job, person_id: int | None, cautions: Iterable[Caution], day: date) -> bool:
    """Whether that person has read every one of them at this job on that day."""
    titles = {caution.title for caution in cautions}
    if not titles:
        return True
    read = CautionRead.objects.filter(job=job, person=person_id, day=day, title__in=titles)
    return len(titles) == read.values("title").distinct().count()
