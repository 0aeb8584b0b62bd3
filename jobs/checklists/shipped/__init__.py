"""The check-lists that come with Crankmark, and how they get into a workshop.

Each list is a module of this package that ends in `LIST = ShippedList(...)` and stands in `MODULES`; sections that
lists share have modules of their own, named for the part of the work. It is written with the words of
`jobs.checklists.shipped.spec`:

    from jobs.checklists.models import SheetKind
    from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, photo, tick, words

    LIST = ShippedList(
        key="contact-breaker",                       # never changes
        name="Fitting, points as trigger",   # the workshop may rename it
        kind=SheetKind.FITTING,
        suits={"trigger": ["contact breaker"]},      # offered first for these cars; None: for every car
        sections=(
            Section("Before you start", (
                tick("battery-isolated", "Battery isolated", hold_point=True, caution="…", help="…"),
                measure("coil-primary", "Coil primary", "ohm", 1.35, 1.65, decimals=2, correction="20 °C", source="…"),
                measure("idle-vacuum", "Idle vacuum", "kPa", 50, 70, quantity="vacuum", correction="sea level"),
                measure("battery-6", "Battery at rest", "V", 6.2, 6.4, applies={"system_volts": [6]}),
                choice("post-to-body", "Battery post to the body", ["negative", "positive"]),
                choice("cap", "Cap and rotor", ["sound", "tracked"], ["sound"]),  # second list: those that pass
                photo("engine-bay", "Engine bay as it came", required=False),
                words("plug-type", "Plug type"),
            )),
        ),
    )

Every item may carry `help`, `caution`, `source` ('common practice, no source' where there is none), `required=False`,
`second_person=True`, `hold_point=True`, and `applies`: a mapping of a fact of the car to the values for which the item
applies; all must hold. The facts and their values are those of `jobs.checklists.applies.FACTS`. `key` is a slug that
stays the same in every later revision: by it a running job keeps what was entered when it is moved to a newer one.
A measure with a `quantity` is read in whichever of its units the gauge has; its limits are written in the canonical
one. With a `correction` the person types what the meter shows, and the figure beside it where it takes two; the limits
are those of the corrected figure (`jobs.checklists.models.Correction`). Items that want a drawing are named in
`jobs.checklists.drawings`, those that wait for a reading of the strobe in `jobs.checklists.after_strobe`.

A `reading` names what answers it in the record (`jobs.checklists.readers`), `car_fact` the fact of the car that the
answer is held against (`jobs.checklists.car_facts`), `inspection_key` the item of the inspection that asked the same
before. `note_above` with `note_text` lets a high figure pass with a word of warning.
"""

from importlib import import_module

from jobs.checklists.models import ChecklistTemplate, TemplateRevision
from jobs.checklists.shipped.spec import ShippedList

MODULES = [
    "inspection",
    "contact_breaker",
    "electronic_trigger",
    "unit_and_map",
    "unit_replaced",
    "yearly_check",
    "fitted_elsewhere",
]


def shipped_lists() -> list[ShippedList]:
    return [import_module(f"{__name__}.{module}").LIST for module in MODULES]


def waiting_to_be_put_in() -> list[str]:
    """The names of the lists that this workshop does not have, or has in an older edition."""
    mine = ChecklistTemplate.objects.exclude(shipped_key="").prefetch_related("revisions")
    known = {template.shipped_key: template for template in mine}
    waiting = []
    for shipped in shipped_lists():
        template = known.get(shipped.key)
        if template is None:
            waiting.append(shipped.name)
        elif is_new_to(list(template.revisions.all()), shipped):
            waiting.append(f"{template.name}: new edition")
    return waiting


def is_new_to(revisions: list[TemplateRevision], shipped: ShippedList) -> bool:
    """Whether the list would become a revision of its own. Beside an open draft it waits."""
    fingerprint = shipped.fingerprint()
    known = any(revision.shipped_fingerprint == fingerprint for revision in revisions)
    return not known and not any(revision.published_at is None for revision in revisions)
