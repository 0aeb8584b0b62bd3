"""What the record refuses is said in a sentence to the person who asked, whatever page they were on."""

import ast
import uuid
from pathlib import Path

import pytest
from django.core.exceptions import PermissionDenied
from django.test import RequestFactory
from django.urls import reverse

from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import StaleEditError
from garage.site.middleware import RefusalsAreAnswered
from jobs.job.actions import GateClosedError
from jobs.job.models import JobState
from jobs.maps.actions import MapRefusedError
from tests.checklists.factories import sheet_with
from tests.factories import CustomerFactory, JobFactory

ROOT = Path(__file__).resolve().parent.parent.parent

# Said at the console, where no page is: the network's floor and the demo.
AT_THE_CONSOLE = {"garage/export", "garage/backup", "garage/lan", "jobs/demo"}
# Reading a figure knows no record, and the field that reads it says the sentence beside itself; a data folder that
# cannot be written is said at the start, before there is a page. A mail that was not taken becomes a step of the mail.
NO_REFUSALS = {"NotAFigureError", "DataFolderError", "StorageFullError", "BodyCutShortError", "SealBrokenError",
               "StorageError", "StorageAwayError", "FilesAddressError", "MailNotTakenError"}  # fmt: skip


def own_errors() -> dict[str, set[str]]:
    """Every class of error that the rooms define, with the names of its bases."""
    found = {}
    for house in ("garage", "jobs"):
        for path in sorted((ROOT / house).glob("*/*.py")):
            if str(path.parent.relative_to(ROOT)) in AT_THE_CONSOLE:
                continue
            for node in ast.parse(path.read_text()).body:
                if isinstance(node, ast.ClassDef) and node.name.endswith("Error"):
                    found[node.name] = {ast.unparse(base) for base in node.bases}
    return found


def test_every_refusal_of_the_rooms_has_the_one_base():
    errors = own_errors()
    assert len(errors) > 15
    refusals = {"RuleRefusedError"}
    for _ in errors:  # as deep as the classes can stand on one another
        refusals |= {name for name, bases in errors.items() if bases & refusals}
    assert set(errors) - refusals == NO_REFUSALS


@pytest.mark.parametrize(
    ("refusal", "sentences"),
    [
        (MapRefusedError("Enter the dwell.", "Enter the rev limit."), ("Enter the dwell.", "Enter the rev limit.")),
        (GateClosedError(["the odometer"]), ("Still missing: the odometer",)),
        (RuleRefusedError("This run is over."), ("This run is over.",)),
    ],
)
def test_a_refusal_carries_its_sentences_one_by_one_and_as_a_whole(refusal, sentences):
    assert refusal.reasons == sentences
    assert str(refusal) == " ".join(sentences)


def answer_to(exception, **headers):
    request = RequestFactory().post("/", headers=headers)
    return RefusalsAreAnswered(lambda _: None).process_exception(request, exception)


def test_a_refusal_that_no_form_shows_gets_a_page_with_the_sentence(db):
    answer = answer_to(RuleRefusedError("This run is over."))
    assert answer.status_code == 409
    assert "This run is over." in answer.content.decode()


def test_a_script_that_asked_for_json_gets_the_sentence_as_json(db):
    answer = answer_to(RuleRefusedError("This run is over."), Accept="application/json")
    assert (answer.status_code, answer.content) == (409, b'{"problem": "This run is over."}')


def test_an_edit_of_an_older_page_is_a_refusal_and_no_breakdown(db):
    answer = answer_to(StaleEditError(CustomerFactory(name="Mira Holt")))
    assert "Mira Holt was changed" in answer.content.decode()


@pytest.mark.parametrize("other", [PermissionDenied(), ValueError("a slip in our own code")])
def test_what_is_no_refusal_goes_on_to_where_it_belongs(other):
    assert answer_to(other) is None


def test_a_tablet_s_entry_for_an_abandoned_job_is_refused_with_the_sentence_and_leaves_the_queue(browser_of, actor):
    """409 would mean to the tablet that another person is signed in, and the entry would wait for ever."""
    job = JobFactory()
    sheet_with([{"key": "fuse"}], person=actor.person, job=job)
    job.state, job.state_reason = JobState.ABANDONED, "sold"
    job.save()
    now = actor.at.isoformat()
    entry = {
        "message": "entry", "id": str(uuid.uuid4()), "maker": actor.person.pk, "item": "fuse", "madeAt": now,
        "sentAt": now, "outcome": "done",
    }  # fmt: skip
    url = reverse("checklists:send", args=[job.code, "fitting"])
    answer = browser_of(actor.person).post(
        url, entry, content_type="application/json", headers={"Accept": "application/json"}
    )
    assert answer.status_code == 422
    assert job.code in answer.json()["problem"]
