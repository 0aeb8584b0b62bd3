"""What a person who works alone found when reading an item again, in words."""

from jobs.checklists.answered import SeenAgain
from jobs.checklists.measuring import unit_text, value_text
from jobs.checklists.models import Confirmation
from jobs.job.second_check import pause_in_words


def second_look_in_words(seconded: Confirmation) -> str:
    """' (same person, 3 h later: 2.4 mm)'; nothing for another person's check."""
    if seconded.own_pause_s is None:
        return ""
    return f" ({pause_in_words(seconded.own_pause_s)}: {_found(seconded)})"


def _found(seconded: Confirmation) -> str:
    item = seconded.entry.item
    again = SeenAgain(
        measure=seconded.measure,
        unit=seconded.unit,
        beside=seconded.beside,
        choice=seconded.choice,
        text=seconded.text,
    )
    unit = unit_text(item, again) if again.measure is not None else ""
    return f"{value_text(item, again)} {unit}".strip()
