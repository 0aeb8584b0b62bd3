"""Sending the papers of a car to its customer."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from jobs.documents import queries
from jobs.documents.models import DocumentKind, IssuedDocument
from jobs.job.models import Job
from jobs.job.pages import job_for
from jobs.post.models import MailKind
from jobs.post.pages import ToSend, write_page
from jobs.post.papers import Paper

# What a customer is sent unless somebody chooses otherwise: the newest of each.
USUALLY_SENT = (DocumentKind.CUSTOMER_SHEET, DocumentKind.RESTORE_SHEET)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def send(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    documents = sorted(queries.documents_for_customer(job), key=_by_kind_newest_first)
    papers = {document.pk: paper_of(document) for document in documents}
    usual = [queries.newest_document(job, kind) for kind in USUALLY_SENT]
    to_send = ToSend(
        kind=MailKind.PAPERS,
        subject=job,
        papers=list(papers.values()),
        chosen=[papers[document.pk] for document in usual if document and document.pk in papers],
        back_url=_back(job),
    )
    return write_page(request, job, to_send)


def paper_of(document: IssuedDocument) -> Paper:
    return Paper(
        label=f"{document.get_kind_display()} no. {document.number}",
        file_name=f"{document.job.code} {document.kind} {document.number}.pdf".replace(" ", "-"),
        stored_as=str(document.file.name),
        sha256=document.sha256,
        url=reverse("documents:document", args=[document.job.code, document.pk]),
    )


def _by_kind_newest_first(document: IssuedDocument) -> tuple[int, int]:
    return DocumentKind.values.index(document.kind), -document.number


def _back(job: Job) -> str:
    return f"{reverse('handover:page', args=[job.code])}#documents"
