"""The cast of every test, and what keeps tests apart from the machine they run on."""

import os
import tempfile
from collections.abc import Iterator

# Before Django reads its settings: tests own a data folder that nobody else uses, each of several workers its own.
os.environ.setdefault("CRANKMARK_DATA", tempfile.mkdtemp(prefix="crankmark-tests-"))
if "PYTEST_XDIST_WORKER" in os.environ:
    os.environ["CRANKMARK_DATA"] = os.path.join(os.environ["CRANKMARK_DATA"], os.environ["PYTEST_XDIST_WORKER"])
# The browser tests drive a live server through Playwright's event loop.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

import pytest
from django.apps import apps

from garage.people.models import Role, Staff, Workshop
from garage.people.roles import make_roles
from garage.record.actor import Actor
from jobs.checklists import published
from tests.as_laid import book_of_the_tests, kept_as_laid, on_sqlite, search_emptied
from tests.chromium import PROGRAM, SharedChromium
from tests.factories import DeviceFactory, StaffFactory, WorkshopFactory
from tests.signed_in import client_of
from tests.tables import lay_book


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="the series of kills and power cuts in their full length")


@pytest.fixture(autouse=True)
def _files_of_the_test(settings, tmp_path) -> None:
    """Documents and photographs of a test land in a folder of its own; hashing is quick, for nothing is secret here.

    Papers are set in the process of the test, where it can look on; `tests/papers` has what sets them apart.
    """
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "garage.files.storage.DurableStorage",
            "OPTIONS": {"location": str(tmp_path / "files"), "base_url": None},
        },
    }
    settings.PAPERS_SET_APART = False
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def _published_lists_are_read_anew() -> None:
    published.forget()


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_modify_db_settings) -> bool:
    """The book of the tests is there before it is asked for: a copy of tables that were laid once for all workers."""
    if on_sqlite():
        lay_book(book_of_the_tests())
    return on_sqlite()


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker) -> Iterator[None]:
    if not on_sqlite():
        yield
        return
    with django_db_blocker.unblock(), kept_as_laid(book_of_the_tests()):
        yield


TRANSACTIONAL = pytest.StashKey[object]()


@pytest.fixture(autouse=True)
def _transactional_tests_are_known(request, django_db_blocker) -> None:
    if is_transactional(request):
        request.getfixturevalue("transactional_db")
        request.node.stash[TRANSACTIONAL] = django_db_blocker


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Iterator[None]:
    """After a transactional test PostgreSQL's tables were emptied: the roles are made again and the search forgets."""
    try:
        return (yield)
    finally:
        if TRANSACTIONAL in item.stash and nextitem is not None and not on_sqlite():
            with item.stash[TRANSACTIONAL].unblock():
                search_emptied()
                make_roles(apps)


def is_transactional(request: pytest.FixtureRequest) -> bool:
    mark = request.node.get_closest_marker("django_db")
    named = {"transactional_db", "live_server"} & set(request.fixturenames)
    return bool(named or (mark and mark.kwargs.get("transaction")))


@pytest.fixture(scope="session")
def shared_chromium() -> Iterator[SharedChromium]:
    """One for the whole worker. Where there is none its tests are skipped, but never in CI."""
    if PROGRAM is None and not os.environ.get("CI"):
        pytest.skip("Chromium is not installed")
    from playwright.sync_api import sync_playwright

    shared = SharedChromium(sync_playwright().start())
    yield shared
    shared.end()


@pytest.fixture
def chromium(shared_chromium) -> Iterator[object]:
    """A browser for one test, which makes contexts of its own in it."""
    with shared_chromium.lent() as browser:
        yield browser


@pytest.fixture
def workshop(db) -> Workshop:
    return WorkshopFactory()


@pytest.fixture
def owner(workshop) -> Staff:
    return StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER)


@pytest.fixture
def mechanic(workshop) -> Staff:
    return StaffFactory(name="Ines Marlow", username="ines", role=Role.MECHANIC)


@pytest.fixture
def second_mechanic(workshop) -> Staff:
    return StaffFactory(name="Tam Okoro", username="tam", role=Role.MECHANIC)


@pytest.fixture
def front_desk(workshop) -> Staff:
    return StaffFactory(name="Bea Lindqvist", username="bea", role=Role.FRONT_DESK)


@pytest.fixture
def stranger(workshop) -> Staff:
    """Has an account, but no role: may see nothing and do nothing."""
    return StaffFactory(name="Nobody Special", username="nobody")


@pytest.fixture
def actor(mechanic) -> Actor:
    """The mechanic's signature, from a tablet, now."""
    from django.utils import timezone

    return Actor(person=mechanic, at=timezone.now(), device=DeviceFactory())


@pytest.fixture
def browser_of(workshop):
    """`browser_of(owner)`: a test client signed in as that person, just now and by the password."""

    return client_of
