"""The handover's pages: the final check, the second signature, the documents issued; and after-care."""

from uuid import UUID, uuid5

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.lan.names import is_local
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.colleague import actor_beside
from garage.people.forms import ColleagueForm
from garage.people.pin import PinRefusedError
from garage.people.queries import get_workshop
from garage.quantities.words import bare
from garage.record.actor import Actor
from garage.record.idempotency import IdempotentForm
from garage.record.refusals import RuleRefusedError
from jobs.documents.blank_sheets import BlankSheetsForm
from jobs.documents.coming_back import come_back
from jobs.documents.models import DocumentKind
from jobs.documents.queries import documents_for_customer
from jobs.documents.views import LINK_IN_SESSION
from jobs.handover import actions, queries
from jobs.handover.forms import OwnSignOffForm, SignOffForm
from jobs.handover.refusals import HandoverRuleError
from jobs.handover.review_token import review_token
from jobs.handover.second_look import speeds_to_hold
from jobs.job.models import Job, Stage
from jobs.job.pages import crossings_unmet, job_context, job_for
from jobs.job.second_check import may_come_back, opens_at
from jobs.maps import queries as maps
from jobs.post.queries import kinds_for, mails_of
from jobs.strobe import queries as strobe
from jobs.strobe.final_check import final_check_of
from jobs.strobe.forms import BeginForm
from timing.sheets.pdf import DocumentLibraryMissing


def _page(request: HttpRequest, job: Job, status: int = 200, form: SignOffForm | None = None) -> HttpResponse:
    context = job_context(
        request,
        job,
        Stage.HANDOVER,
        in_car=maps.in_car(job),
        final=final_check_of(job),
        begin_form=BeginForm(prefix="begin", initial={"lamp": strobe.last_lamp()}),
        sign_off=queries.current_sign_off(job),
        is_own_work=_is_own_work(request, job),
        colleague_form=ColleagueForm(beside=actor_of(request).person, permission="record_readings"),
        form=form or SignOffForm(),
        shown=review_token(job),
        idempotency_key=IdempotentForm(),
        kinds=DocumentKind,
        blank_form=BlankSheetsForm(job=job),
        documents=job.documents.select_related("issued_by").order_by("-issued_at"),
        may_be_sent=documents_for_customer(job).exists(),
        mails=mails_of(job, kinds_for(request.user)),
        unmet=crossings_unmet(job),
        links=job.customer_links.filter(revoked_at=None, expires_at__gt=timezone.now()),
        stays_here=is_local(request.get_host()),
        # Shown once, on the page that follows its making.
        new_link=request.session.pop(LINK_IN_SESSION.format(code=job.code), None),
    )
    return render(request, "jobs/handover/page.html", context, status=status)


def _is_own_work(request: HttpRequest, job: Job) -> bool:
    return request.user.pk in queries.hands_on(job)


@never_cache
@require_GET
def page(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, job_for(code))


@sensitive_post_parameters("pin")
@require_POST
@permission_required("record_readings")
def sign_off(request: HttpRequest, code: str) -> HttpResponse:
    """By whoever is signed in, or by a colleague who types a PIN here and leaves them signed in."""
    job = job_for(code)
    form = SignOffForm(request.POST)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actor = actor_beside(request, "record_readings")
            actions.sign_off(
                job=job,
                id=typed["id"],
                remarks=typed["remarks"],
                actor=actor,
                shown=request.POST.get("shown", ""),
            )
        except (HandoverRuleError, PinRefusedError) as refusal:
            form.add_error(None, str(refusal))
        else:
            _issue_with(request, job, typed["id"], actor)
            return redirect("handover:page", code)
    return _page(request, job, 422, form)


def _issue_with(request: HttpRequest, job: Job, signature: UUID, actor: Actor) -> None:
    """The customer's sheet with the signature, where the button says so. What is in its way is said on the page."""
    if "issue" not in request.POST:
        return
    try:
        actions.issue_document(
            job=job_for(job.code),
            kind=DocumentKind.CUSTOMER_SHEET,
            idempotency_key=uuid5(signature, DocumentKind.CUSTOMER_SHEET),
            actor=actor,
        )
    except (RuleRefusedError, DocumentLibraryMissing) as refusal:
        messages.error(request, str(refusal))


def _speeds_to_hold(job: Job) -> dict[str, str]:
    """The two speeds that the page asks for; another one is typed over them."""
    version = maps.version_in_car(job)
    speeds = speeds_to_hold(version) if version else None
    return {"first_rpm": bare(speeds[0]), "second_rpm": bare(speeds[1])} if speeds else {}


@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def again(request: HttpRequest, code: str) -> HttpResponse:
    """Whoever works alone reads the strobe again and signs, on a page that does not show the first readings."""
    job, actor = job_for(code), actor_of(request)
    form = OwnSignOffForm(request.POST or None, initial=_speeds_to_hold(job))
    if form.is_valid():
        try:
            actions.sign_off_own(
                job=job,
                id=form.cleaned_data["id"],
                remarks=form.cleaned_data["remarks"],
                read_again=form.read_again,
                actor=actor,
                shown=request.POST.get("shown", ""),
            )
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            _issue_with(request, job, form.cleaned_data["id"], actor)
            return redirect("handover:page", code)
    done_at = queries.own_work_done_at(job, actor.person)
    context = job_context(
        request,
        job,
        Stage.HANDOVER,
        next_action=None,
        form=form,
        shown=review_token(job),
        may_come_back=may_come_back(actor.at),
        opens_at=opens_at(done_at) if done_at else None,
    )
    return render(request, "jobs/handover/again.html", context, status=422 if form.is_bound else 200)


@require_POST
@permission_required("record_readings")
def issue(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    job = job_for(code)
    form = IdempotentForm(request.POST)
    if kind not in DocumentKind.values or not form.is_valid():
        raise Http404
    try:
        actions.issue_document(
            job=job,
            kind=DocumentKind(kind),
            idempotency_key=form.cleaned_data["idempotency_key"],
            actor=actor_of(request),
        )
    except (RuleRefusedError, DocumentLibraryMissing) as refusal:
        messages.error(request, str(refusal))
    return redirect("handover:page", code)


@never_cache
@require_GET
def after_care(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    context = job_context(
        request,
        job,
        Stage.AFTER_CARE,
        come_back=come_back(job),
        in_car=maps.in_car(job),
        begin_form=BeginForm(prefix="begin", initial={"lamp": strobe.last_lamp()}),
        documents=job.documents.order_by("-issued_at"),
        mails=mails_of(job, kinds_for(request.user)),
        workshop=get_workshop(),
    )
    return render(request, "jobs/handover/after_care.html", context)
