"""Long pages are packed for bad Wi-Fi; a page that holds a secret which stays the same never is."""

import pytest
from django.urls import reverse

from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory

pytestmark = pytest.mark.django_db
PACKED = {"Accept-Encoding": "gzip"}


@pytest.mark.parametrize("page", ["board:board", "board:journal", "week:week", "learning:page", "bench:version"])
def test_a_long_page_is_packed_and_much_smaller(browser_of, mechanic, page):
    version = MapVersionFactory()
    named = {"board:journal": [version.job.code], "bench:version": [version.job.code, version.number]}
    address = reverse(page, args=named.get(page, []))
    plain = browser_of(mechanic).get(address)
    packed = browser_of(mechanic).get(address, headers=PACKED)
    assert packed["Content-Encoding"] == "gzip"
    assert 2 * len(packed.content) < len(plain.content)


@pytest.mark.parametrize("page", ["handover:page", "week:feeds", "people:account", "people:second-factor"])
def test_a_page_that_may_show_a_link_or_a_code_is_never_packed(browser_of, owner, page):
    """Whoever can have text of theirs echoed beside a secret learns it from the packed length (BREACH, 2013)."""
    named = {"handover:page": [JobFactory().code]}
    answer = browser_of(owner).get(reverse(page, args=named.get(page, [])), headers=PACKED)
    assert answer.status_code == 200
    assert "Content-Encoding" not in answer
