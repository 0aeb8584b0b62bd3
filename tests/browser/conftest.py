"""Chromium for the tests that look at pages, and people at their tablets."""

from collections.abc import Callable, Iterator

import pytest
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore

from garage.people.models import Staff

PORTRAIT = {"width": 820, "height": 1180}
LANDSCAPE = {"width": 1024, "height": 768}


def session_of(person: Staff) -> str:
    """The cookie of a session that belongs to `person`, as signing in would make it."""
    store = SessionStore()
    store[SESSION_KEY] = str(person.pk)
    store[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    store[HASH_SESSION_KEY] = person.get_session_auth_hash()
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
