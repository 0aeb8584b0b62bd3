"""Chromium for the tests that look at pages, and people at their tablets."""

import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from playwright.sync_api import Page

from garage.people.fresh_proof import PROVED
from garage.people.models import Staff
from garage.people.sessions import SessionStore
from tests.browser.real_server import RealServer

PORTRAIT = {"width": 820, "height": 1180}
LANDSCAPE = {"width": 1024, "height": 768}
DESK = {"width": 1440, "height": 900}


def session_of(person: Staff) -> str:
    """The cookie of a session that belongs to `person`, as signing in would make it."""
    store = SessionStore()
    store[SESSION_KEY] = str(person.pk)
    store[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    store[HASH_SESSION_KEY] = person.get_session_auth_hash()
    store[PROVED] = int(time.time())
    store.create()
    return store.session_key


@pytest.fixture
def tablet(chromium) -> Iterator[Callable[..., object]]:
    """`tablet(url, session)`: a tablet of its own, signed in, at `url`. Any error on a page fails the test."""
    contexts, troubles = [], []

    def taken_in_hand(url: str, session: str = "", viewport: dict[str, int] = PORTRAIT):
        context = chromium.new_context(
            viewport=viewport, device_scale_factor=1, has_touch=True, is_mobile=True, locale="en-GB", base_url=url
        )
        contexts.append(context)
        if session:
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": url}])
        context.on("weberror", lambda error: troubles.append(str(error.error)))
        context.on(
            "console",
            lambda said: troubles.append(said.text) if "Content Security Policy" in said.text else None,
        )
        page = context.new_page()
        page.set_default_timeout(10_000)
        return page

    yield taken_in_hand
    for context in contexts:
        context.close()
    assert troubles == []


@pytest.fixture(scope="session")
def server(tmp_path_factory) -> Iterator[RealServer]:
    """For one test after the other, each of which sets out its own scene; whoever stops it leaves it stopped."""
    server = RealServer(tmp_path_factory.mktemp("workshop"))
    yield server
    server.stop()


@pytest.fixture(scope="session")
def garage(tmp_path_factory) -> Iterator[tuple[RealServer, dict[str, Any]]]:
    """One workshop for all tests of the map bench: whoever writes has a job of its own in it."""
    server = RealServer(tmp_path_factory.mktemp("maps"))
    told = server.prepare("-m", "tests.browser.map_scenes")
    server.start()
    yield server, told
    server.stop()


@pytest.fixture
def sit_down(chromium, garage) -> Iterator[Any]:
    """`sit_down("drag")`: the mechanic at the bench of that job's first version. Any error on a page fails the test."""
    server, told = garage
    contexts, troubles = [], []

    def at(
        job: str,
        *,
        who: str = "mechanic",
        touch: bool = False,
        glass: dict[str, int] = LANDSCAPE,
        number: int = 1,
        path: str = "",
    ) -> Page:
        context = chromium.new_context(
            viewport=glass if touch else DESK, has_touch=touch, is_mobile=touch, locale="en-GB"
        )
        contexts.append(context)
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": told["sessions"][who], "url": server.url}])
        context.on("weberror", lambda error: troubles.append(str(error.error)))
        context.on("console", lambda said: troubles.append(said.text) if "Security Policy" in said.text else None)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.goto(f"{server.url}/jobs/{told['codes'][job]}/map/{path or f'{number}/'}")
        return page

    yield at
    for context in contexts:
        context.close()
    assert troubles == []
