"""What the check-lists read of the strobe: the base timing, and the clamp after it."""

from django.urls import reverse

from garage.quantities.words import advance, plain
from jobs.checklists.readers import Found, Reader
from jobs.job.models import Job
from jobs.strobe import queries


def _page(job: Job, part: str) -> str:
    return f"{reverse('strobe:page', args=[job.code])}#{part}"


def base_timing(job: Job) -> Found:
    """The last session for the base timing: done once it proves or refutes it."""
    proof, url = queries.base_proof(job), _page(job, "base")
    if proof is None or proof.verdict is None:
        return Found(is_done=False, text="Base timing not read yet.", url=url, link="Read the strobe")
    base = proof.session.base_deg
    text = f"{advance(base)}: {proof.verdict.sentence}" if base is not None else proof.verdict.sentence
    last = max(proof.readings, key=lambda reading: reading.made_at)
    return Found(is_done=proof.holds, text=text, url=url, link="See the base timing", by=str(last.by), at=last.made_at)


def clamp(job: Job) -> Found:
    """The clamp after the base timing was set: done once the reading did not move and a mark was painted."""
    check, url = queries.clamp(job), _page(job, "clamp")
    if check is None:
        return Found(is_done=False, text="Clamp not checked yet.", url=url, link="Clamp the distributor")
    text = f"{plain(check.change_deg, 1)}° shift after clamping (limit {plain(check.tolerance_deg)}°)"
    if not check.mark_painted:
        text += ", no mark painted"
    return Found(
        is_done=queries.clamp_holds(check), text=text, url=url, link="See the clamp", by=str(check.by), at=check.made_at
    )


READERS = (
    Reader("base-timing", "base timing by the strobe", base_timing),
    Reader("clamp", "clamp after the base timing", clamp),
)
