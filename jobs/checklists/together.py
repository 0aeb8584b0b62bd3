"""Plain looks of a section that one tap answers: which items they are, and the words by which the record says so."""

from jobs.checklists.models import ChecklistItem, Entry, ItemKind, Outcome
from jobs.checklists.refusals import EntryRefusedError
from jobs.checklists.sheet import Line


def plain_look(item: ChecklistItem) -> str | None:
    """What 'in order' means for `item`: the one choice that passes, nothing for a tick; None where it is no plain look.

    Whatever protects somebody is looked at by itself: hold points, second checks, items with a caution of their own.
    So is whatever is measured, photographed or held against the car's record.
    """
    if item.hold_point or item.second_person or item.caution or item.car_fact:
        return None
    if item.kind == ItemKind.TICK:
        return ""
    if item.kind == ItemKind.CHOICE and len(item.good_choices) == 1:
        return str(item.good_choices[0])
    return None


def refuse_together(
    line: Line, *, outcome: Outcome, choice: str, note: str, together: int, confirms: bool = False
) -> None:
    """Refuse what was answered by one tap for `together` items and wants a look of its own.

    What the inspection found (`confirms`) may be any kind of answer: each was looked at by itself there.
    """
    item, text = line.item, line.item.text
    protects = item.hold_point or item.second_person or bool(item.caution)
    is_plain = not protects if confirms else choice == plain_look(item)
    if together < 2 or outcome != Outcome.DONE or not is_plain or note:
        raise EntryRefusedError(f"‘{text}’ cannot be answered together with others. Answer it by itself.")
    if line.history:
        raise EntryRefusedError(f"‘{text}’ was answered by itself meanwhile. That answer stays.")


def together_in_words(entry: Entry) -> str:
    """', answered together, 6 items'; nothing for an entry of its own."""
    return f", answered together, {entry.together} items" if entry.together else ""
