"""The sheet's pages as they work without any script, and the photographs."""

import re
from uuid import UUID, uuid5

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import etag, require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.forms import ColleagueForm
from garage.people.models import Staff
from garage.people.queries import colleagues_without_pin, get_workshop
from garage.record.refusals import RuleRefusedError
from jobs.checklists import actions, queries, stored
from jobs.checklists.drawings import picture_of
from jobs.checklists.forms import EntryForm
from jobs.checklists.models import ChecklistItem, ItemKind, JobSheet, Outcome, Photograph, SheetKind, TemplateRevision
from jobs.checklists.onward import STAGE_OF
from jobs.checklists.photographs import Picture
from jobs.checklists.presentation import limits_here, row_of
from jobs.checklists.record_actions import correct_record
from jobs.checklists.rotor_items import ABOUT_THE_ROTOR
from jobs.checklists.serving import as_picture, photograph_answer
from jobs.checklists.sheet import Line, Sheet, may_confirm
from jobs.checklists.usual import usual_answers
from jobs.job.models import Job
from jobs.job.pages import job_context, job_for

# The browser's list of usual answers, on the page of one item.
USUAL = "usual"


def kind_for(kind: str) -> SheetKind:
    try:
        return SheetKind(kind)
    except ValueError:
        raise Http404 from None


def sheet_for(job: Job, kind: SheetKind) -> Sheet:
    sheet = queries.sheet(job, kind)
    if sheet is None:
        raise Http404
    return sheet


@require_POST
@permission_required("record_readings")
def begin(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    job, kind = job_for(code), kind_for(kind)
    revision = get_object_or_404(TemplateRevision.objects.select_related("template"), pk=_number(request, "revision"))
    try:
        actions.begin_sheet(job=job, kind=kind, revision=revision, actor=actor_of(request))
    except actions.EntryRefusedError as refusal:
        messages.error(request, str(refusal))
    return redirect(queries.sheet_page(job, kind))


def _number(request: HttpRequest, name: str) -> int:
    typed = request.POST.get(name, "")
    if not re.fullmatch(r"[0-9]{1,18}", typed):
        raise Http404
    return int(typed)


def posted_id(request: HttpRequest, name: str) -> UUID:
    try:
        return UUID(request.POST.get(name, ""))
    except ValueError:
        raise Http404 from None


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def newer(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """Asks before the sheet goes on by the newest revision of its list, showing what that changes."""
    job, kind = job_for(code), kind_for(kind)
    sheet = sheet_for(job, kind)
    revision = queries.newer_revision(sheet.record)
    if revision is None:
        return redirect(queries.sheet_page(job, kind))
    shown = request.method != "POST" or _number(request, "revision") == revision.pk
    if request.method == "POST" and shown:
        try:
            actions.move_to_revision(sheet=sheet.record, revision=revision, actor=actor_of(request))
        except actions.EntryRefusedError as refusal:
            messages.error(request, str(refusal))
        return redirect(queries.sheet_page(job, kind))
    context = job_context(request, job, STAGE_OF[kind], next_action=None, revision=revision, sheet=sheet)
    context |= {"change": queries.change_to(sheet.record, revision), "back_url": queries.sheet_page(job, kind)}
    context["is_later"] = not shown
    return render(request, "jobs/checklists/newer.html", context, status=200 if shown else 409)


@require_http_methods(["GET", "POST"])
@never_cache
def item(request: HttpRequest, code: str, kind: str, key: str) -> HttpResponse:
    """One item of the sheet with its history; where an entry is made without script, or comes back refused."""
    if request.method == "POST":
        return _enter(request, job_for(code), kind_for(kind), key)
    return _show_item(request, job_for(code), kind_for(kind), key)


@queries.sheets_laid_out_once
def _show_item(request: HttpRequest, job: Job, kind: SheetKind, key: str) -> HttpResponse:
    line = _line_for(job, kind, key)
    return _item_page(request, job, kind, line, EntryForm.for_line(line, person_at(request)))


def _line_for(job: Job, kind: SheetKind, key: str) -> Line:
    line = sheet_for(job, kind).line(key)
    if line is None:
        raise Http404
    return line


@permission_required("record_readings")
def _enter(request: HttpRequest, job: Job, kind: SheetKind, key: str) -> HttpResponse:
    line = _line_for(job, kind, key)
    form = EntryForm(request.POST, request.FILES, item=line.item, person=person_at(request))
    if form.is_valid():
        try:
            _record(request, queries.sheet_record(job, kind), line, form)
            return redirect(_next_place(job, kind, line))
        except actions.EntryRefusedError as refusal:
            form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
    return _item_page(request, job, kind, line, form, status=422)


def _record(request: HttpRequest, record: JobSheet | None, line: Line, form: EntryForm) -> None:
    assert record is not None  # noqa: S101 - the line was found on it
    values = form.cleaned_data.copy()
    picture: Picture | None = values.pop("photograph")
    outcome = Outcome(values.pop("outcome"))
    actor = actor_of(request)
    # A photograph makes the entry that it is itself: the answer to an item that asks for one, or a note.
    is_the_entry = outcome == (Outcome.DONE if line.item.kind == ItemKind.PHOTO else Outcome.NOTED)
    if picture is None or not is_the_entry:
        actions.record_entry(sheet=record, key=line.item.key, actor=actor, outcome=outcome, **values)
    if picture is None:
        return
    actions.record_photograph(
        sheet=record,
        key=line.item.key,
        id=uuid5(values["id"], "photograph"),
        entry_id=values["id"],
        picture=picture,
        note=values["note"],
        replaces=values["replaces"],
        actor=actor,
    )


def _next_place(job: Job, kind: SheetKind, line: Line) -> str:
    """The sheet, at the item itself while it differs from the car's record, else at the next open one."""
    sheet = sheet_for(job, kind)
    now = sheet.line(line.item.key)
    following = now if now is not None and now.is_unsettled else sheet.next_open
    return f"{queries.sheet_page(job, kind)}#item-{following.item.key if following else line.item.key}"


def _item_page(
    request: HttpRequest, job: Job, kind: SheetKind, line: Line, form: EntryForm, status: int = 200
) -> HttpResponse:
    person = person_at(request)
    may_record = person.has_perm("garage.record_readings")
    usual = usual_answers([line.item], job).get(line.item.key, [])
    if usual and "text" in form.fields:
        form.fields["text"].widget.attrs["list"] = USUAL
    context = job_context(
        request,
        job,
        STAGE_OF[kind],
        next_action=None,
        sheet_kind=kind,
        line=line,
        picture=picture_of(line.item),
        about_the_rotor=line.item.key in ABOUT_THE_ROTOR,
        row=row_of(line),
        usual_id=USUAL,
        usual=usual,
        limits=limits_here(line, person, get_workshop().altitude_m),
        form=form if may_record else None,
        may_record=may_record,
        may_confirm=may_record and may_confirm(line, person),
        is_own=may_record and line.waits_for_second and not may_confirm(line, person),
        colleague_form=ColleagueForm(beside=person, permission="record_readings"),
        colleague_without_pin=colleagues_without_pin(person, "record_readings").exists(),
        back_url=f"{queries.sheet_page(job, kind)}#item-{line.item.key}",
    )
    return render(request, "jobs/checklists/item.html", context, status=status)


@require_POST
@permission_required("record_readings")
def correct(request: HttpRequest, code: str, kind: str, key: str) -> HttpResponse:
    """The car's record takes what was measured in place of what it says."""
    job, kind = job_for(code), kind_for(kind)
    entry = sheet_for(job, kind).record.entries.filter(pk=posted_id(request, "entry"), item__key=key).first()
    if entry is None:
        raise Http404
    try:
        correct_record(entry=entry, seen=request.POST.get("seen", ""), actor=actor_of(request))
    except RuleRefusedError as refusal:
        messages.error(request, str(refusal))
    return redirect(f"{queries.sheet_page(job, kind)}#item-{key}")


def person_at(request: HttpRequest) -> Staff:
    assert isinstance(request.user, Staff)  # noqa: S101 - the middleware has seen to it
    return request.user


def _hash(request: HttpRequest, pk: UUID) -> str | None:
    found = Photograph.objects.filter(pk=pk).values_list("sha256", flat=True).first()
    return f'"{found}"' if found else None


@require_GET
@etag(_hash)
def photograph(request: HttpRequest, pk: UUID) -> HttpResponse:
    return photograph_answer(request, get_object_or_404(Photograph, pk=pk), stored.stored_photograph)


@require_GET
@etag(_hash)
def photograph_small(request: HttpRequest, pk: UUID) -> HttpResponse:
    return photograph_answer(request, get_object_or_404(Photograph, pk=pk), stored.stored_thumbnail)


@require_GET
def item_picture(request: HttpRequest, pk: int) -> FileResponse:
    item = get_object_or_404(ChecklistItem.objects.exclude(picture=""), pk=pk)
    if not default_storage.exists(item.picture):
        raise Http404
    return as_picture(FileResponse(default_storage.open(item.picture), content_type="image/jpeg"))
