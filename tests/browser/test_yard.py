"""Two web machines are one workshop: who signs in on one goes on on the other, and both show what was entered.

On PostgreSQL where it is installed, else on one SQLite folder.
"""

from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

from tests.browser.test_fitting_offline import PASSWORD, all_sent, line, ready
from tests.browser.yard import YardServer
from tests.postgres import thrown_away

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def machines(tmp_path_factory) -> Iterator[tuple[YardServer, YardServer]]:
    with thrown_away() as database:
        shared = {"DATABASE_URL": database} if database else {}
        first = tmp_path_factory.mktemp("one")
        one = YardServer(first, shared=shared, first=first)
        two = YardServer(tmp_path_factory.mktemp("two"), shared=shared, first=first)
        one.scene = one.prepare("one_sheet")
        try:
            one.start()
            two.start()
            yield one, two
        finally:
            two.stop()
            one.stop()


def test_who_signs_in_on_one_machine_ticks_on_the_other_and_both_show_it(machines, tablet):
    one, two = machines
    page = tablet(one.url)
    page.goto(f"{one.url}/sign-in/")
    page.get_by_label("User name").fill("ines")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    sheet = f"/jobs/{one.scene['code']}/fitting/"
    page.goto(f"{two.url}{sheet}")
    ready(page)
    page.get_by_role("button", name="Tick: done").tap()
    all_sent(page)
    for machine in machines:
        page.goto(f"{machine.url}{sheet}")
        expect(line(page, "battery-isolated")).to_contain_text("done")
