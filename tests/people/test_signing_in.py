"""Who comes in, and who does not."""

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from tests.factories import JobFactory

PASSWORD = "a long workshop password"

# The pages a person without an account may see. Everything else asks for a sign-in, whatever its view says.
OPEN_TO_ALL = {
    "health",
    "health-live",
    "health-ready",
    "metrics",
    "people:sign-in",
    "people:second-step",
    "people:set-up",
    "documents:customer-page",
    "documents:customer-document",
    "quotes:customer-quote",
    "quotes:customer-paper",
    "quotes:customer-photograph",
    "quotes:customer-photograph-small",
    "billing:customer-bill",
    "week:feed",
    "checklists:service-worker",
}
# Shows nothing: whoever comes to it, with a role or without one, ends before the sign-in page.
LEADS_OUT = {"people:sign-out"}


def sign_in(client, username="ines", password=PASSWORD, **more):
    return client.post(reverse("people:sign-in"), {"username": username, "password": password, **more})


def test_a_mechanic_signs_in_and_stands_before_the_board(mechanic):
    client = Client()
    assert sign_in(client).url == "/"
    assert client.get("/").status_code == 200


def test_signing_in_goes_on_to_the_page_that_was_wanted(mechanic):
    assert sign_in(Client(), next="/customers/").url == "/customers/"


@pytest.mark.parametrize("elsewhere", ["https://example.org/", "//example.org", "javascript:alert(1)"])
def test_signing_in_never_leads_off_the_site(mechanic, elsewhere):
    assert sign_in(Client(), next=elsewhere).url == "/"


def test_a_wrong_password_is_refused_without_saying_which_half_is_wrong(mechanic):
    known, unknown = sign_in(Client(), password="wrong"), sign_in(Client(), username="nosuch")
    assert known.status_code == unknown.status_code == 422
    for answer in (known, unknown):
        assert "Wrong user name or password" in answer.content.decode()


def test_guessing_passwords_is_stopped_and_the_right_one_does_not_help_then(mechanic):
    client = Client()
    for _ in range(6):
        answer = sign_in(client, password="wrong")
    assert answer.status_code == 429
    assert sign_in(client).status_code == 429


def test_somebody_who_was_let_go_does_not_come_in(mechanic):
    mechanic.is_active = False
    mechanic.save()
    assert sign_in(Client()).status_code == 422


def test_an_account_without_a_role_opens_nothing(browser_of, stranger):
    assert browser_of(stranger).get("/").status_code == 403


def every_address():
    """Every named address of the site, with what its path takes."""
    return [(name, pattern.pattern.converters) for name, pattern in every_pattern()]


def every_pattern():
    found = []

    def walk(patterns, prefix=""):
        for pattern in patterns:
            if hasattr(pattern, "url_patterns"):
                namespace = f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix
                walk(pattern.url_patterns, namespace)
            elif pattern.name:
                found.append((f"{prefix}{pattern.name}", pattern))

    walk(get_resolver().url_patterns)
    return found


def address(name, converters, job):
    stand_ins = {"UUIDConverter": "00000000-0000-4000-8000-000000000000", "IntConverter": 1}
    values = {key: stand_ins.get(type(converter).__name__, "x") for key, converter in converters.items()}
    if "code" in values:
        values["code"] = job.code
    return reverse(name, kwargs=values)


def test_every_page_but_the_open_ones_asks_for_a_sign_in(workshop):
    job = JobFactory()
    let_in = []
    for name, converters in every_address():
        if name in OPEN_TO_ALL | LEADS_OUT:
            continue
        answer = Client().get(address(name, converters, job))
        if answer.status_code != 302 or not answer.url.startswith("/sign-in/"):
            let_in.append(name)
    assert let_in == []


def test_no_other_view_says_that_it_needs_no_sign_in():
    says_so = {name for name, pattern in every_pattern() if not getattr(pattern.callback, "login_required", True)}
    assert says_so == OPEN_TO_ALL | LEADS_OUT


def test_a_form_sent_after_the_session_ended_is_told_to_sign_in_before_its_token_is_looked_at(workshop):
    client = Client(enforce_csrf_checks=True)
    job = JobFactory()
    answer = client.post(reverse("board:journal", args=[job.code]), {"words": "Rotor is cracked"})
    assert answer.url.startswith("/sign-in/")
    queue = client.post(reverse("checklists:send", args=[job.code, "fitting"]), headers={"Accept": "application/json"})
    assert (queue.status_code, queue.json()) == (401, {"problem": "signed out"})


def test_a_fragment_asked_for_after_the_session_ended_leads_the_whole_page_to_the_sign_in(workshop):
    answer = Client().get(reverse("customers:list"), headers={"HX-Request": "true"})
    assert (answer.status_code, answer["HX-Redirect"]) == (204, "/sign-in/?next=/customers/")


def test_every_page_is_shut_to_an_account_without_a_role(browser_of, stranger):
    job = JobFactory()
    client = browser_of(stranger)
    let_in = [
        name
        for name, converters in every_address()
        if name not in OPEN_TO_ALL | LEADS_OUT and client.get(address(name, converters, job)).status_code != 403
    ]
    assert let_in == []


def test_a_tablet_s_queue_hears_that_it_is_signed_out_instead_of_a_redirect(workshop):
    job = JobFactory()
    answer = Client().get(reverse("board:job", args=[job.code]), headers={"Accept": "application/json"})
    assert answer.status_code == 401


def test_signing_out_is_a_deed_not_a_link(browser_of, mechanic):
    client = browser_of(mechanic)
    assert client.get(reverse("people:sign-out")).status_code == 405
    client.post(reverse("people:sign-out"))
    assert client.get("/").status_code == 302
