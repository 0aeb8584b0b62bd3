"""The first page of an empty workshop."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.test import Client

from garage.models import Staff, Workshop
from garage.people import set_up
from garage.people.models import Role

PASSWORD = "a long workshop password"


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path / "data"


def typed(**changes):
    return {
        "code": set_up.one_time_code(),
        "workshop_name": "Lockgate Motor Works",
        "owner_name": "Rowan Vale",
        "username": "rowan",
        "password": PASSWORD,
        "password_again": PASSWORD,
    } | changes


def test_an_empty_workshop_leads_everybody_to_its_set_up_page(db):
    answer = Client().get("/", follow=True)
    assert answer.redirect_chain[-1][0] == "/set-up/"


def test_the_code_on_the_console_makes_the_workshop_and_signs_its_owner_in(db):
    client = Client()
    assert client.post("/set-up/", typed()).url == "/workshop/"
    owner = Staff.objects.get()
    assert owner.groups.get().name == Role.OWNER
    assert Workshop.objects.get().name == "Lockgate Motor Works"
    assert client.get("/workshop/").status_code == 200


@pytest.mark.parametrize("spelling", [str.lower, lambda code: f" {code[:5]}-{code[5:]} "])
def test_the_code_is_read_as_people_type_it(db, spelling):
    Client().post("/set-up/", typed(code=spelling(set_up.one_time_code())))
    assert Workshop.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"code": "AAAAABBBBB"}, "not the code on the console"),
        ({"code": "ümlaut"}, "not the code on the console"),
        ({"password": "short", "password_again": "short"}, "at least 10 characters"),
        ({"password_again": "something else"}, "passwords differ"),
        ({"owner_name": ""}, "required"),
    ],
)
def test_what_is_wrong_is_said_beside_the_field_and_what_was_typed_stays(db, wrong, why):
    answer = Client().post("/set-up/", typed(**wrong))
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert "Lockgate Motor Works" in answer.content.decode()
    assert not Workshop.objects.exists()


def test_the_set_up_page_works_once_and_never_again(db):
    code = set_up.one_time_code()
    Client().post("/set-up/", typed(code=code))
    answer = Client().post("/set-up/", typed(code=code, username="second"))
    assert answer.url == "/sign-in/"
    assert Staff.objects.count() == 1
    assert set_up.announce() is None


def test_the_code_stays_the_same_until_used_and_is_for_the_owner_of_the_folder_alone(db, settings):
    assert set_up.one_time_code() == set_up.one_time_code()
    assert (settings.DATA_DIR / "set-up-code").stat().st_mode & 0o077 == 0


def test_the_console_says_the_code_of_an_empty_workshop(db):
    code = set_up.one_time_code()
    assert f"{code[:5]}-{code[5:]}" in set_up.announce()


@pytest.mark.parametrize("code", ["-", " ", "--"])
def test_an_emptied_code_file_lets_nobody_in(db, settings, code):
    set_up.one_time_code()
    (settings.DATA_DIR / "set-up-code").write_text("")
    assert not set_up.is_the_code(code)
    assert Client().post("/set-up/", typed(code=code)).status_code == 422


def test_the_code_is_one_and_whole_however_many_ask_at_once(settings):
    with ThreadPoolExecutor(12) as askers:
        codes = set(askers.map(lambda _: set_up.one_time_code(), range(200)))
    assert len(codes) == 1
    assert len(codes.pop()) == set_up.LENGTH
