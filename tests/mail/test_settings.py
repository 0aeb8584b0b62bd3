"""The owner's page of the mail server: who opens it, what it keeps of the password, and what its test says."""

import pytest
from django.urls import reverse

from garage.export.tables import book_fields
from garage.mail.models import MailSettings
from garage.mail.password import opened
from garage.mail.server import kept_settings, server_of
from garage.mail.troubles import MailNotTakenError
from garage.people.fresh_proof import PROVED
from garage.record.models import TrailEntry
from tests.mail.post_office import PASSWORD, USER, open_post_office, set_up_mail

PAGE, TEST = reverse("mail:settings"), reverse("mail:test")
TYPED = {
    "in_use": "on", "server": "mail.lockgate.example", "port": "587", "security": "starttls", "user_name": USER,
    "password": PASSWORD, "sender_address": "office@lockgate.example", "sender_name": "Lockgate Motor Works",
    "row_version": "1",
}  # fmt: skip


@pytest.fixture
def browser(browser_of, owner):
    return browser_of(owner)


def errors(answer):
    return {name: str(said[0]) for name, said in answer.context["form"].errors.items()}


def test_what_is_saved_is_shown_but_for_the_password_which_lies_sealed(browser):
    assert browser.post(PAGE, TYPED).status_code == 302
    kept = MailSettings.objects.get()
    assert opened(kept.sealed_password) == PASSWORD
    assert PASSWORD not in kept.sealed_password
    page = browser.get(PAGE).content.decode()
    assert "mail.lockgate.example" in page
    assert PASSWORD not in page
    assert kept.sealed_password not in page
    assert PASSWORD not in repr(server_of(kept))


def test_the_trail_says_that_the_password_is_another_and_never_which(browser):
    browser.post(PAGE, TYPED)
    changes = TrailEntry.objects.get(subject_kind="workshop").changes
    assert {"label": "mail: password", "before": "", "after": "changed"} in changes
    assert PASSWORD not in str(changes)


def test_an_empty_password_keeps_the_one_that_is_there(browser):
    browser.post(PAGE, TYPED)
    browser.post(PAGE, TYPED | {"password": "", "sender_name": "The office", "row_version": "2"})
    kept = MailSettings.objects.get()
    assert (kept.sender_name, opened(kept.sealed_password)) == ("The office", PASSWORD)


@pytest.mark.parametrize("changed", [{"server": "mail.other.example"}, {"user_name": "x"}, {"port": "25"}])
def test_a_kept_password_goes_to_no_other_server(browser, changed):
    browser.post(PAGE, TYPED)
    answer = browser.post(PAGE, TYPED | {"password": "", "row_version": "2"} | changed)
    assert errors(answer) == {"password": "Type the password: server or user name are new."}


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"security": "none"}, "security"),
        ({"user_name": ""}, "user_name"),
        ({"server": ""}, "server"),
        ({"server": "mail.example/x"}, "server"),
        ({"server": "mail.example\nx"}, "server"),
        ({"password": "zündung und kappe"}, "password"),
        ({"port": "0"}, "port"),
        ({"port": "65536"}, "port"),
        ({"sender_address": ""}, "sender_address"),
        ({"sender_name": "Lockgate\r\nBcc: all@example"}, "sender_name"),
    ],
)
def test_what_cannot_be_sent_with_is_refused_beside_its_field(browser, typed, field):
    answer = browser.post(PAGE, TYPED | typed)
    assert (answer.status_code, list(errors(answer))) == (422, [field])
    assert not MailSettings.objects.exists()
    assert PASSWORD not in answer.content.decode()


def test_a_stale_page_shows_both(browser):
    browser.post(PAGE, TYPED)
    answer = browser.post(PAGE, TYPED | {"sender_name": "The office"})
    assert answer.status_code == 409
    assert "Saved now" in answer.content.decode()


@pytest.mark.parametrize("address", [PAGE, TEST])
def test_neither_page_nor_test_opens_without_a_fresh_proof(browser, address):
    session = browser.session
    session[PROVED] = 0
    session.save()
    assert browser.post(address, TYPED).url.startswith(reverse("people:prove"))
    assert not MailSettings.objects.exists()


def test_the_test_sends_a_mail_and_shows_the_server_s_answer(browser):
    with open_post_office() as office:
        set_up_mail(office.port)
        page = browser.post(TEST, {"to": "rowan@lockgate.example"})
    assert office.only_letter()["To"] == "rowan@lockgate.example"
    assert "queued as 4F1A" in page.content.decode()


def test_a_test_that_fails_says_why_with_the_answer_as_text(browser):
    with open_post_office() as office:
        office.answer_to["MAIL"] = "550 <b>no</b>"
        set_up_mail(office.port)
        answer = browser.post(TEST, {"to": "rowan@lockgate.example"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "localhost refused the sender&#x27;s address." in page
    assert "550 &lt;b&gt;no&lt;/b&gt;" in page


def test_the_open_book_holds_the_server_and_not_its_password(browser):
    browser.post(PAGE, TYPED)
    names = {field.name for field in book_fields(MailSettings)}
    assert "server" in names
    assert "sealed_password" not in names


def test_a_password_that_stayed_behind_is_asked_for_and_not_sent_empty(browser):
    browser.post(PAGE, TYPED)
    MailSettings.objects.update(sealed_password="")
    with pytest.raises(MailNotTakenError, match="Type it again") as trouble:
        server_of(kept_settings())
    assert trouble.value.for_good


def test_with_another_secret_key_the_password_does_not_open(browser, settings):
    browser.post(PAGE, TYPED)
    settings.SECRET_KEY = "another key altogether, long enough"
    with pytest.raises(MailNotTakenError, match="Type it again"):
        server_of(kept_settings())
