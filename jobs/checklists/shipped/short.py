"""What the short lists ask, which the long ones ask at more length or on a page of their own."""

from dataclasses import replace

from jobs.checklists.shipped.contact_breaker import BREAKER
from jobs.checklists.shipped.electronic_trigger import TRIGGER
from jobs.checklists.shipped.inspection_standing import ARRIVAL
from jobs.checklists.shipped.sources import PRACTICE
from jobs.checklists.shipped.spec import Item, choice

NO_LEAK = ARRIVAL.picked("fuel-leaks")[0]
MARK_KNOWN = choice(
    "mark-known",
    "Timing mark at the dead centre of cylinder 1",
    ["proven now", "proven at an earlier job", "not proven"],
    ["proven now", "proven at an earlier job"],
    hold_point=True,
    help="Piston stop, both ways round, the middle of the two marks. Every strobe reading stands on this mark.",
    caution="Ignition dead and all plugs out. By hand only: the starter breaks the stop and the piston.",
    source=PRACTICE,
)


def of_trigger(items: tuple[Item, ...], *kinds: str) -> tuple[Item, ...]:
    """`items` where the car's trigger is one of `kinds`: the short lists serve every car."""
    return tuple(replace(item, applies={**(item.applies or {}), "trigger": list(kinds)}) for item in items)


TRIGGER_ON_POSITIVE_EARTH = (
    *of_trigger(BREAKER.picked("trigger-earth-way"), "contact breaker"),
    *of_trigger(TRIGGER.picked("sensor-earth-way"), "hall", "optical", "inductive"),
)
