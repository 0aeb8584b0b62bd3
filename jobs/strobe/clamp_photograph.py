"""The photograph of the clamp and its mark: taken with the clamp, kept on the fitting sheet, which asks for it."""

from uuid import UUID, uuid5

from garage.record.actor import Actor
from jobs.checklists import queries as checklists
from jobs.checklists.actions import record_photograph
from jobs.checklists.after_strobe import CLAMP_MARK
from jobs.checklists.models import ItemKind, SheetKind
from jobs.checklists.photographs import Picture
from jobs.job.models import Job


def is_asked_for(job: Job) -> bool:
    """Whether the job has a fitting sheet with a place for it."""
    record = checklists.sheet_record(job, SheetKind.FITTING)
    return record is not None and record.revision.items.filter(key=CLAMP_MARK, kind=ItemKind.PHOTO).exists()


def keep(*, job: Job, clamp_id: UUID, picture: Picture, actor: Actor) -> None:
    """Put the photograph that came with the clamp `clamp_id` on the sheet; sent twice, it is one.

    Raises
    ------
    EntryRefusedError
        If the sheet does not take it, such as behind a hold point.
    """
    sheet = checklists.sheet(job, SheetKind.FITTING, reads=False)
    line = sheet.line(CLAMP_MARK) if sheet else None
    if sheet is None or line is None:
        return
    entry_id = uuid5(clamp_id, "entry")
    record_photograph(
        sheet=sheet.record,
        key=CLAMP_MARK,
        id=uuid5(clamp_id, "photograph"),
        entry_id=entry_id,
        picture=picture,
        replaces=[head.pk for head in line.heads if head.pk != entry_id],
        actor=actor,
    )
