"""Road notes that were written with a pen: the lines of the blank sheet, typed in with one Save."""

import re
import uuid

import pytest
from django.urls import reverse

from garage.quantities.measure import VACUUM
from jobs.documents.blank_sheets import set_blank_sheets
from jobs.roadtest import actions, queries
from jobs.roadtest.from_paper import COLUMNS, LINES_ON_PAPER
from jobs.roadtest.models import RoadNote
from tests.documents.test_blank_sheets import pages_of
from tests.pages import text_of
from tests.roadtest.test_roadtest import job, run, version  # noqa: F401 - fixtures

LINES = {
    1: {"kind": "pinking", "severity": "2", "rpm": "2600", "vacuum_kpa": "2", "gear": "3", "load": "full"},
    2: {"kind": "fine", "rpm": "1800"},
    4: {"kind": "flat spot", "words": "off idle"},
}


@pytest.fixture
def at_the_desk(browser_of, mechanic):
    return browser_of(mechanic)


@pytest.fixture
def address(run):  # noqa: F811
    return reverse("roadtest:from-paper", args=[run.job.code, run.pk])


@pytest.fixture
def send(at_the_desk, address, mechanic):
    def sent(lines, *, key="5f0e6c1e-0000-4000-8000-000000000001", written="T. Reed, 28 Nov", client=at_the_desk):
        typed = {"idempotency_key": key, "written": written}
        for number in range(1, LINES_ON_PAPER + 1):
            line = dict.fromkeys(COLUMNS, "") | {"vacuum_kpa_unit": mechanic.vacuum_unit} | lines.get(number, {})
            typed |= {f"line-{number}-{name}": value for name, value in line.items()}
        return client.post(address, typed)

    return sent


def test_each_line_that_was_written_is_a_note_in_the_order_of_the_sheet(send, run, mechanic):  # noqa: F811
    answer = send(LINES)
    assert answer.status_code == 302, text_of(answer)
    hill, fine, flat = queries.current_notes(run)
    assert (hill.kind, hill.severity, hill.rpm, hill.gear, hill.load) == ("pinking", 2, 2600, 3, "full")
    assert hill.vacuum_kpa == pytest.approx(VACUUM.canonical_of(2, mechanic.vacuum_unit))
    assert (fine.kind, fine.words) == ("fine", "from paper, T. Reed, 28 Nov")
    assert flat.words == "from paper, T. Reed, 28 Nov: off idle"
    assert run.job.journal.last().sentence == "On the road: flat spot: from paper, T. Reed, 28 Nov: off idle"


def test_a_unit_behind_the_vacuum_counts(send, run):  # noqa: F811
    send({1: {"kind": "fine", "vacuum_kpa": "4 inHg"}})
    # 3.386 389 kPa to the conventional inch of mercury (NIST SP 811:2008, B.8)
    assert queries.current_notes(run)[0].vacuum_kpa == pytest.approx(4 * 3.386389, rel=1e-6)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ({"kind": "pinking"}, "No. 2: How strong: Enter how strongly it pinked."),
        ({"rpm": "2600"}, "No. 2: What: "),
        ({"kind": "fine", "rpm": "fast"}, "No. 2: Speed: "),
        ({"kind": "fine", "rpm": "90000"}, "No. 2: Speed: "),
        ({"kind": "fine", "words": "w" * 450}, "No. 2: In words: "),
    ],
)
def test_a_wrong_line_is_named_nothing_is_saved_and_the_rest_stays_in_its_boxes(send, line, said):
    answer = send({1: {"kind": "fine", "words": "before the bridge"}, 2: line})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in text_of(answer)
    assert 'value="before the bridge"' in page
    assert RoadNote.objects.count() == 0


def test_a_sheet_without_a_line_is_asked_for_one(send):
    answer = send({})
    assert (answer.status_code, "Nothing is typed in yet." in text_of(answer)) == (422, True)


def test_sent_twice_the_lines_are_noted_once_and_with_other_words_refused(send):
    send(LINES)
    assert send(LINES).status_code == 302
    assert RoadNote.objects.count() == 3
    assert send({1: {"kind": "surge"}}).status_code != 302
    assert RoadNote.objects.count() == 3


def test_after_the_end_of_the_run_nothing_is_noted_from_paper_either(send, run, actor, at_the_desk):  # noqa: F811
    actions.end_run(run=run, summary="no pinking", actor=actor)
    answer = send(LINES)
    assert (answer.status_code, "This run has ended" in text_of(answer)) == (422, True)
    assert RoadNote.objects.count() == 0
    page = at_the_desk.get(reverse("roadtest:run", args=[run.job.code, run.pk])).content.decode()
    assert "Type in from paper" not in page


def test_the_page_has_the_columns_and_the_lines_of_the_printed_sheet(at_the_desk, address, run):  # noqa: F811
    from django.utils import timezone

    [printed] = pages_of(set_blank_sheets(run.job, ["road"], timezone.now()))
    page = at_the_desk.get(address).content.decode()
    assert f" {LINES_ON_PAPER} " in f"{printed} "
    assert len(re.findall(r'<select name="line-\d+-kind"', page)) == LINES_ON_PAPER
    for heading in ("what", "strong", "vacuum", "gear", "throttle", "words"):
        assert heading in printed
        assert heading in text_of(at_the_desk.get(address)).lower()


def test_the_front_desk_notes_nothing(send, browser_of, front_desk):
    assert send(LINES, client=browser_of(front_desk)).status_code == 403
    assert RoadNote.objects.count() == 0


def test_every_form_has_an_id_of_its_own(at_the_desk, address):
    ids = [
        re.search(r'name="idempotency_key" value="([^"]+)"', at_the_desk.get(address).content.decode())[1] for _ in "ab"
    ]
    assert ids[0] != ids[1]
    assert uuid.UUID(ids[0])
