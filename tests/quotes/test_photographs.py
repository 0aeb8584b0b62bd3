"""The photographs of a supplement: chosen by the office, shown on its link and its paper, and through no other way."""

import hashlib
import io
import uuid

import pypdf
import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from jobs.booking.actions import change_booking
from jobs.checklists.photographs import Picture
from jobs.documents.actions import make_link
from jobs.quotes.models import Quote, QuoteKind
from tests.checklists.factories import photograph
from tests.factories import JobFactory
from tests.quotes.test_pages import form_of


def taken(job, actor, *widths):
    """Photographs of `job`, each with a width of its own; their keys."""
    job.refresh_from_db()
    pictures = [picture_of(width) for width in widths]
    values = {"wanted": job.wanted, "booked_for": job.booked_for}
    change_booking(job=job, row_version=job.row_version, pictures=pictures, actor=actor, **values)
    return [str(pk) for pk in job.photographs.order_by("width").values_list("pk", flat=True)]


def picture_of(width):
    jpeg = photograph(width=width)
    sha256, small = hashlib.sha256(jpeg).hexdigest(), photograph(width=120, height=90)
    return Picture(image=jpeg, thumbnail=small, width=width, height=480, sha256=sha256)


@pytest.fixture
def supplement(browser_of, front_desk, job, quoted, on_paper, standard, desk):
    """`supplement([1])`: sent from its page with the second of three photographs."""

    def send(chosen):
        on_paper(quoted(job))
        keys = taken(job, desk, 640, 641, 642)
        form = form_of(standard, initial=0)
        form |= {"reason": "Spindle worn", "photographs": [keys[place] for place in chosen]}
        answer = browser_of(front_desk).post(reverse("quotes:supplement", args=[job.code]), form)
        assert answer.status_code == 302, answer.context["form"].errors
        return Quote.objects.get(kind=QuoteKind.SUPPLEMENT)

    return send


def on_link(link, name, *more):
    return reverse(f"quotes:customer-{name}", args=[link, *more])


def width_of(answer):
    return Image.open(io.BytesIO(answer.content)).width


def test_the_customer_sees_those_that_were_chosen_small_and_whole(supplement, link):
    sent, client = supplement([0, 2]), Client()
    page = client.get(on_link(link, "quote", sent.pk)).content.decode()
    small = [on_link(link, "photograph-small", sent.pk, number) for number in (1, 2, 3)]
    assert [address in page for address in small] == [True, True, False]
    assert page.count('alt="Photograph ') == 2
    assert [width_of(client.get(address)) for address in small[:2]] == [120, 120]
    whole = [client.get(on_link(link, "photograph", sent.pk, number)) for number in (1, 2)]
    assert [width_of(answer) for answer in whole] == [640, 642]
    assert {answer["X-Content-Type-Options"] for answer in whole} == {"nosniff"}
    assert {answer["Referrer-Policy"] for answer in whole} == {"no-referrer"}


def test_no_other_photograph_opens_through_the_link(supplement, link, job, desk):
    sent, client = supplement([1]), Client()
    not_sent = [on_link(link, "photograph", sent.pk, number) for number in (0, 2, 3)]
    elsewhere = make_link(job=JobFactory(), idempotency_key=uuid.uuid4(), actor=desk)
    not_theirs = [on_link(token, "photograph", sent.pk, 1) for token in (elsewhere, "x" * 43)]
    for address in (*not_sent, *not_theirs):
        assert client.get(address).status_code == 404
    own_name = reverse("booking:photograph", args=[job.photographs.first().pk])
    assert client.get(own_name).status_code == 302  # to the sign-in


def test_a_cancelled_link_shows_no_photograph(supplement, link, job):
    sent = supplement([0])
    job.customer_links.update(revoked_at=timezone.now())
    assert Client().get(on_link(link, "photograph-small", sent.pk, 1)).status_code == 404


def test_one_that_is_another_by_now_is_not_shown(supplement, link, job):
    sent = supplement([0])
    kept = job.photographs.get(pk=sent.photographs[0]["id"])
    with default_storage.open(kept.file.name, "wb") as file:
        file.write(photograph(width=333))
    assert Client().get(on_link(link, "photograph", sent.pk, 1)).status_code == 404


@pytest.mark.parametrize("quote_at_once", [None])
def test_they_stand_on_the_paper(quote_at_once, supplement, link, monkeypatch):
    sent = supplement([0, 2])
    paper = Client().get(on_link(link, "paper", sent.pk)).content
    assert hashlib.sha256(paper).hexdigest() == sent.sha256
    pages = pypdf.PdfReader(io.BytesIO(paper)).pages
    assert sum(len(page.images) for page in pages) == 2
    assert "1: At booking" in "".join(page.extract_text() for page in pages)


def test_more_than_a_dozen_or_one_of_another_job_is_refused(
    browser_of, front_desk, job, quoted, on_paper, standard, desk
):
    on_paper(quoted(job))
    many, other = taken(job, desk, *range(640, 653)), taken(JobFactory(), desk, 640)
    client, address = browser_of(front_desk), reverse("quotes:supplement", args=[job.code])
    for chosen, words in [(many, "Choose 12 at most"), (other, "Choose from the list.")]:
        form = form_of(standard, initial=0) | {"reason": "Spindle worn", "photographs": chosen}
        answer = client.post(address, form)
        assert (answer.status_code, words) == (422, answer.context["form"].errors["photographs"][0][: len(words)])
    assert not Quote.objects.filter(kind=QuoteKind.SUPPLEMENT).exists()


def test_a_new_version_begins_with_those_of_the_one_before(supplement, browser_of, front_desk, job):
    sent = supplement([1])
    page = browser_of(front_desk).get(reverse("quotes:version", args=[job.code, sent.pk]))
    assert page.context["form"]["photographs"].value() == [sent.photographs[0]["id"]]


def test_a_quote_without_photographs_is_set_as_before(job, quoted):
    assert quoted(job).photographs == []
