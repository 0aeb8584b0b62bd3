"""Two versions of a job side by side."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.bench.comparing import side_by_side
from jobs.job.models import Stage
from jobs.job.pages import job_context, job_for


@require_GET
def compare(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    versions = list(job.map_versions.with_people().order_by("number"))
    before, after = _asked(request, versions)
    context: dict[str, Any] = {"versions": versions, "before": before, "after": after}
    broken = [version for version in (before, after) if version and not version.can_be_relied_on()]
    if broken:
        context["broken"] = broken
    elif before and after:
        context |= side_by_side(job, before, after, vacuum_unit=request.user.vacuum_unit)  # type: ignore[union-attr]
    return render(request, "jobs/bench/compare.html", job_context(request, job, Stage.MAP, next_action=None, **context))


def _asked(request: HttpRequest, versions: list[Any]) -> tuple[Any, Any]:
    """The two versions asked for; by default the last two."""
    by_number = {str(version.number): version for version in versions}
    before = by_number.get(request.GET.get("before", ""))
    after = by_number.get(request.GET.get("after", ""))
    if len(versions) > 1:
        after = after or versions[-1]
        before = before or after.parent or next(one for one in reversed(versions) if one.pk != after.pk)
    return before, after
