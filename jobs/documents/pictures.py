"""The photographs of a job on its papers: which there are, and each as a small picture."""

from base64 import b64encode

from django.utils import timezone

from garage.record.plain import Plain
from jobs.booking.models import BookingPhotograph
from jobs.booking.queries import photographs_at_booking
from jobs.checklists import queries as checklists
from jobs.checklists.models import KeptPhotograph, Photograph, SheetKind
from jobs.checklists.photographs import PhotographRefusedError, made_for_paper
from jobs.checklists.stored import PhotographDamagedError, stored_photograph
from jobs.job.models import Job

AT_BOOKING, OF_AN_ITEM = "booking", "item"


def photographs_taken(job: Job) -> list[Plain]:
    """Every photograph of the job as plain data: those at booking, then those of both sheets in the order of the items.

    {"of", "id", "sha256", "what", "by", "at"}; `of` is 'booking' or 'item'.
    """
    found = [_told(one, AT_BOOKING, "At booking") for one in photographs_at_booking(job)]
    for kind in (SheetKind.INSPECTION, SheetKind.FITTING):
        sheet = checklists.sheet(job, kind)
        for line in sheet.lines if sheet else []:
            what = f"{kind.label.capitalize()} {line.item.position}, {line.item.text}"
            found += [_told(one, OF_AN_ITEM, what) for one in line.photographs]
    return found


def _told(photograph: KeptPhotograph, of: str, what: str) -> Plain:
    return {
        "of": of,
        "id": str(photograph.pk),
        "sha256": photograph.sha256,
        "what": what,
        "by": str(photograph.by),
        "at": timezone.localtime(photograph.made_at).isoformat(),
    }


def photograph_told_of(told: Plain) -> KeptPhotograph | None:
    """The photograph that `told` names; None where it is gone, or is another by now."""
    kind = BookingPhotograph if told["of"] == AT_BOOKING else Photograph
    found: KeptPhotograph | None = kind._default_manager.filter(pk=told["id"], sha256=told["sha256"]).first()
    return found if found and found.file else None


def small_pictures(taken: list[Plain]) -> list[Plain]:
    """`taken` with "uri", the picture itself, made small one after the other; empty where it is gone or damaged."""
    kept: dict[tuple[str, str], KeptPhotograph] = {}
    for of, kind in ((AT_BOOKING, BookingPhotograph), (OF_AN_ITEM, Photograph)):
        found = kind._default_manager.in_bulk([told["id"] for told in taken if told["of"] == of])
        kept |= {(of, str(pk)): photograph for pk, photograph in found.items()}
    return [told | {"uri": _uri_of(kept.get((told["of"], told["id"])), told["sha256"])} for told in taken]


def _uri_of(photograph: KeptPhotograph | None, sha256: str) -> str:
    if photograph is None or photograph.sha256 != sha256:
        return ""
    try:
        picture = made_for_paper(stored_photograph(photograph))
    except (PhotographDamagedError, PhotographRefusedError):
        return ""
    return f"data:image/jpeg;base64,{b64encode(picture).decode()}"
