"""Every paper the house sets, of an easy car and of hard ones, made from data as the rooms hand it over."""

import pytest
from django.utils import timezone

from jobs.billing.setting import set_bill
from jobs.documents.blank_sheets import BlankSheet, set_blank_sheets
from jobs.documents.models import DocumentKind
from jobs.quotes.setting import set_quote
from jobs.strobe.tape import set_tape
from tests.billing.conftest import billed, desk, entered, exempt, job, paper_at_once, standard  # noqa: F401 - fixtures
from tests.checklists.factories import sheet_with
from tests.documents import hard
from tests.documents.cars import MAPS
from tests.documents.conftest import Papers, papers  # noqa: F401 - a fixture
from tests.documents.test_blank_sheets import ITEMS
from tests.quotes.conftest import quote_at_once, quoted  # noqa: F401 - fixtures
from timing.sheets.tape import Place, Tape, Turning

HARD = "every script, and words without end"
OF_A_CAR = [(name, kind) for name in (*MAPS, HARD) for kind in DocumentKind]
OTHERS = ["blank sheets", "tape", "quote", "bill", "bill of another name"]


@pytest.fixture(scope="session")
def paper_of(papers):  # noqa: F811
    """`paper_of(name, kind)`: that paper of that car."""
    return Papers(papers.facts | {HARD: hard.hard(papers.facts["plain"])}).of


@pytest.fixture
def other_paper(request):
    """`other_paper("quote")`: a paper that is no document of a car."""

    def tape():
        asked = {"before_deg": 60, "after_deg": 20, "every_deg": 1, "thickness_mm": 0.1}
        return Tape(diameter_mm=400, turning=Turning.CLOCKWISE, place=Place.WHEEL, **asked)

    def made(name):
        at = timezone.now()
        if name == "blank sheets":
            sheet = sheet_with(ITEMS, person=request.getfixturevalue("mechanic"))
            return set_blank_sheets(sheet.job, list(BlankSheet), at)
        job_with_costs = request.getfixturevalue("job")
        if name == "tape":
            return set_tape(job_with_costs, tape(), 12.0, at)
        if name == "quote":
            return set_quote(request.getfixturevalue("quoted")(job_with_costs).made_from)
        facts = request.getfixturevalue("billed")(job_with_costs).made_from
        if name == "bill of another name":
            facts = facts | {"buyer": facts["buyer"] | {"name": hard.ARABIC, "address": hard.TEN_LINES}}
        return set_bill(facts)

    return made
