"""The car's record corrected from a sheet: what was measured goes in place of what was written down."""

from django.db import transaction

from garage.record.actor import Actor
from jobs.checklists.actions import locked_sheet
from jobs.checklists.around import read_around
from jobs.checklists.models import Entry
from jobs.checklists.record_writing import put_in_record
from jobs.checklists.refusals import EntryRefusedError, refuse_abandoned


@transaction.atomic
def correct_record(*, entry: Entry, seen: str, actor: Actor) -> None:
    """Put what `entry` measured into the car's record. Doing it again changes nothing.

    `seen` is what the record said on the person's screen ('' where nothing): a tablet may have waited for hours, and
    what somebody else has written there since is not overwritten unseen. Between reading and writing the row version of
    the car stands guard.

    Raises
    ------
    EntryRefusedError
        If the entry stands no longer, the record says something else by now, or it does not take the value.
    StaleEditError
        If somebody changed the car at the same moment.
    """
    sheet = locked_sheet(entry.sheet)
    refuse_abandoned(sheet.job)
    line = read_around(sheet, entry.item.key, entry.pk).line
    if line is None or line.current != entry or line.comparison is None:
        raise EntryRefusedError(f"‘{entry.item.text}’ was changed meanwhile. Look at it again.")
    found = line.comparison
    if found.agrees:
        return
    if found.recorded_text != seen:
        raise EntryRefusedError(
            f"‘{entry.item.text}’: the car’s record says {found.recorded_text or 'nothing'} by now. Look at it again."
        )
    put_in_record(sheet=sheet, entry=entry, found=found, actor=actor)
