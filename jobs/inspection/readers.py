"""What the check-lists read of the inspection: the timing mark, the sweep of the old advance, the compression."""

from urllib.parse import urlencode

from django.urls import reverse

from garage.quantities.words import plain
from garage.record.facts import with_people
from jobs.checklists.models import SheetKind
from jobs.checklists.queries import sheet_page
from jobs.checklists.readers import Found, Reader
from jobs.inspection import queries
from jobs.inspection.models import CompressionReading, MarkCheck, SweepReading
from jobs.job.models import Job
from timing.errors import TimingError


def _page(job: Job, part: str) -> str:
    """Where it is read; from there the way leads back to the sheet."""
    back = urlencode({"next": sheet_page(job, SheetKind.INSPECTION)})
    return f"{reverse('inspection:page', args=[job.code])}?{back}#{part}"


def timing_mark(job: Job) -> Found:
    """The mark against the piston stop: done once it was checked, passed within the limit of that day."""
    url, link = _page(job, "mark"), "Prove the timing mark"
    try:
        mark = queries.mark_found(job)
    except TimingError as refusal:
        return Found(is_done=False, text=f"The last check cannot be right: {refusal}.", url=url, link=link)
    if mark is None:
        return Found(is_done=False, text="Timing mark not checked yet.", url=url, link=link)
    text = f"{plain(mark.error_deg, 1)}° off (limit {plain(mark.tolerance_deg)}°)"
    return _found(text, [mark.check], url, "See the timing mark", passes=mark.holds)


def sweep(job: Job) -> Found:
    """The sweep of the old advance at as many different speeds as the workshop asks for."""
    readings, least = queries.sweep_readings(job), queries.least_sweep_speeds(job)
    speeds = sorted({reading.rpm for reading in readings})
    url = _page(job, "sweep")
    if len(speeds) < least:
        text = f"{len(speeds)} of {least} speeds read."
        return Found(is_done=False, text=text, url=url, link="Read the old advance")
    text = f"{len(speeds)} speeds, {plain(speeds[0])} to {plain(speeds[-1])} rpm"
    return _found(text, readings, url, "See the sweep")


def compression(job: Job) -> Found:
    """The compression of every cylinder; passed if they agree."""
    squeeze, url = queries.compression(job), _page(job, "compression")
    if squeeze.unread:
        which = ", ".join(map(str, squeeze.unread))
        text = f"Not read: cylinder {which}."
        return Found(is_done=False, text=text, url=url, link="Read the compression")
    count = len(squeeze.readings)
    text = f"{count} cylinders" if count > 1 else "1 cylinder"
    if squeeze.spread is not None:
        text += f", spread {squeeze.spread:.0%} (limit {squeeze.allowed_spread:.0%})"
    return _found(text, squeeze.readings, url, "See the compression", passes=squeeze.even is not False)


def _found(
    text: str,
    facts: "list[MarkCheck] | list[SweepReading] | list[CompressionReading]",
    url: str,
    link: str,
    passes: bool = True,
) -> Found:
    """`text` with the person and the moment of the last of `facts`."""
    last = max(with_people(list(facts)), key=lambda fact: fact.made_at)
    return Found(is_done=True, text=text, url=url, link=link, passes=passes, by=str(last.by), at=last.made_at)


READERS = (
    Reader("timing-mark", "timing mark against the piston stop", timing_mark),
    Reader("sweep", "sweep of the old advance", sweep),
    Reader("compression", "compression of every cylinder", compression),
)
