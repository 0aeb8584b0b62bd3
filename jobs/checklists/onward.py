"""Where a complete sheet leads: to the next stage, or to what the stage wants besides its sheet."""

from typing import Any

from jobs.checklists.models import SheetKind
from jobs.checklists.queries import sheet_page
from jobs.checklists.sheet import Sheet
from jobs.job import stages
from jobs.job.models import Stage
from jobs.job.pages import next_action

STAGE_OF = {SheetKind.FITTING: Stage.FITTING, SheetKind.INSPECTION: Stage.INSPECTION}
SHEET_OF = {stage: kind for kind, stage in STAGE_OF.items()}


def onward_of(sheet: Sheet) -> dict[str, Any] | None:
    """The next action of the job, for the tablet to offer after the last entry; None while the sheet wants anything."""
    job, kind = sheet.record.job, SheetKind(sheet.record.kind)
    if sheet.next_open is not None or job.stage != STAGE_OF[kind]:
        return None
    action = next_action(job, stages.progress_of(job, STAGE_OF[kind]))
    if action is None or action["url"].startswith(sheet_page(job, kind)):
        return None
    return action
