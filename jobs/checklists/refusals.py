"""What a sheet does not take, and why: each refusal is a sentence for the person who sent it."""

import math
from uuid import UUID

from garage.people.models import Staff
from garage.people.queries import get_workshop
from garage.quantities.words import plain
from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError
from garage.vehicles.firing_order import firing_order, names_each_once
from jobs.checklists.measuring import beside_of, corrected, quantity_of, units_of
from jobs.checklists.models import ChecklistItem, Correction, Entry, ItemKind, JobSheet, Outcome, SheetKind
from jobs.checklists.sheet import LEAVES_OPEN, Line
from jobs.job.models import Job, JobState
from timing.errors import TimingError

SENT_TWICE = "This was sent twice with different contents."
LONGEST_WORDS = 500
LARGEST_FIGURE = 1e6
FIRING_ORDER = "firing_order"  # the fact of the car (`car_facts`) that is written in a form of its own


class EntryRefusedError(RuleRefusedError):
    """The sheet does not take this. The message is a sentence for the person who sent it.

    `field` is the box of the form that it is about; none where it is about the whole entry.
    """

    def __init__(self, sentence: str, *, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field


def refuse_other_place(known: Entry, sheet: JobSheet, key: str) -> None:
    if (known.sheet_id, known.item.key) != (sheet.pk, key):
        raise EntryRefusedError(SENT_TWICE)


def refuse_other_words(known: Entry, by: Staff, words: tuple[object, ...]) -> None:
    """The back button brings an old form and its old id to the front: what it says now is not what it said first."""
    if known.by_id != by.pk:
        raise EntryRefusedError(SENT_TWICE)
    said_first = (
        known.outcome, known.measure, known.unit, known.beside, known.choice, known.text, known.note, known.together,
    )  # fmt: skip
    if said_first != words:
        raise EntryRefusedError(
            "This was sent before with other contents, which are kept. Reload the page and enter this again."
        )


def refuse_abandoned(job: Job, *, state_is_fresh: bool = False) -> None:
    if not state_is_fresh:
        job = Job.objects.only("code", "state").get(pk=job.pk)
    if job.state == JobState.ABANDONED:
        raise EntryRefusedError(f"Job {job.code} is abandoned. Resume it first.")


def refuse_ticking_a_reading(line: Line, outcome: Outcome) -> None:
    if line.item.kind == ItemKind.READING and outcome == Outcome.DONE:
        found = f" {line.found.text}" if line.found and not line.found.is_done else ""
        raise EntryRefusedError(f"‘{line.item.text}’ is read from the record and not ticked by hand.{found}")


def refuse_wrong_words(item: ChecklistItem, outcome: Outcome, note: str, text: str) -> None:
    if len(note) > LONGEST_WORDS or len(text) > LONGEST_WORDS:
        raise EntryRefusedError(f"‘{item.text}’: no more than {LONGEST_WORDS} characters.", field="note")
    if outcome in (Outcome.NOT_POSSIBLE, Outcome.LET_PASS) and not note:
        raise EntryRefusedError(f"‘{item.text}’: give the reason in the note.", field="note")
    if outcome == Outcome.LET_PASS and not item.hold_point:
        raise EntryRefusedError(f"‘{item.text}’ is not a hold point: nothing to override.")


def refuse_wrong_value(item: ChecklistItem, outcome: Outcome, measure: float | None, choice: str, text: str) -> None:
    wanted = outcome == Outcome.DONE
    if measure is not None and (not math.isfinite(measure) or abs(measure) > LARGEST_FIGURE):
        largest = plain(LARGEST_FIGURE)
        raise EntryRefusedError(f"‘{item.text}’: a figure between −{largest} and {largest}.", field="measure")
    given = {ItemKind.MEASURE: measure is not None, ItemKind.CHOICE: bool(choice), ItemKind.TEXT: bool(text)}
    strange = [kind.label for kind, is_given in given.items() if is_given and kind != item.kind]
    if strange:
        raise EntryRefusedError(f"‘{item.text}’ is a {item.get_kind_display()}, and takes no {strange[0]}.")
    if wanted and item.kind == ItemKind.MEASURE and measure is None:
        raise EntryRefusedError(f"‘{item.text}’: enter the figure in {item.unit}.", field="measure")
    if wanted and item.kind == ItemKind.TEXT and not text:
        raise EntryRefusedError(f"‘{item.text}’: enter a few words.", field="text")
    if item.kind == ItemKind.CHOICE and (wanted or choice) and choice not in item.choices:
        raise EntryRefusedError(f"‘{item.text}’ must be one of: {', '.join(item.choices)}.", field="choice")


def as_firing_order(item: ChecklistItem, text: str, job: Job) -> str:
    """The firing order with hyphens; refused where it is none."""
    order, cylinders = firing_order(text), job.vehicle.engine.cylinders
    if not text:
        return text  # which is refused as any empty text
    if not names_each_once(order, cylinders):
        each = f"each of the {cylinders} cylinders" if cylinders else "each cylinder"
        raise EntryRefusedError(f"‘{item.text}’: name {each} once, such as 1-3-4-2.", field="text")
    return order


def as_read(
    item: ChecklistItem, outcome: Outcome, measure: float | None, unit: str, beside: float | None
) -> dict[str, object]:
    """The columns of a figure as it was read; refused where its unit or its second figure is missing."""
    second = beside_of(item)
    if measure is None or (second is None and beside is not None):
        if unit or beside is not None:
            raise EntryRefusedError(f"‘{item.text}’: nothing belongs to that figure. Load the page again.")
        return {}
    units = units_of(item)
    if not unit and len(units) > 1:
        raise EntryRefusedError(f"‘{item.text}’: say in which unit, {', '.join(units)}.", field="measure")
    if not quantity_of(item).understands(unit or item.unit):
        raise EntryRefusedError(f"‘{item.text}’ is read in {' or '.join(units)}, not in {unit}.", field="measure")
    if second is not None:
        if beside is None:
            raise EntryRefusedError(
                f"‘{item.text}’: type the {second.label.lower()} in {second.unit} too.", field="beside"
            )
        if not second.low <= beside <= second.high:
            bounds = f"{plain(second.low)} and {plain(second.high)} {second.unit}"
            raise EntryRefusedError(
                f"‘{item.text}’: the {second.label.lower()} must be between {bounds}.", field="beside"
            )
    altitude_m = get_workshop().altitude_m if item.correction == Correction.SEA_LEVEL else None
    try:
        corrected(item, measure, beside, altitude_m)
    except TimingError as refusal:
        raise EntryRefusedError(f"‘{item.text}’: {refusal}.", field="measure") from None
    return {"measure": measure, "unit": unit or item.unit, "beside": beside, "altitude_m": altitude_m}


def confirmed_at_inspection(sheet: JobSheet, item: ChecklistItem, confirms: UUID) -> Entry:
    """The entry of the inspection sheet of this job that `item` may take over."""
    found = Entry.objects.filter(
        pk=confirms, sheet__job=sheet.job, sheet__kind=SheetKind.INSPECTION, item__key=item.inspection_key,
        outcome=Outcome.DONE, successors=None,
    ).first()  # fmt: skip
    if found is None or not item.inspection_key:
        raise EntryRefusedError(f"‘{item.text}’: what the inspection found was corrected since. Look at it again.")
    return found


def refuse_unlike(item: ChecklistItem, confirmed: Entry, read: dict[str, object], choice: str, text: str) -> None:
    """Confirmed is what was found, and nothing else."""
    same = (confirmed.choice, confirmed.text) == (choice, text) and all(
        getattr(confirmed, name) == read.get(name) for name in ("measure", "beside")
    )
    if not same:
        raise EntryRefusedError(f"‘{item.text}’: this is not what the inspection found. Enter it as measured again.")


def refuse_against_order(line: Line, outcome: Outcome, actor: Actor) -> None:
    if outcome in LEAVES_OPEN:
        return
    if line.hold is not None:
        hold = line.hold
        state = "second check needed" if hold.waits_for_second else hold.verdict.words
        raise EntryRefusedError(f"First the hold point ‘{hold.item.text}’ ({state}).")
    if outcome == Outcome.LET_PASS and not actor.person.has_perm("garage.pass_gates"):
        raise EntryRefusedError(f"Only the owner can override: ‘{line.item.text}’.")
