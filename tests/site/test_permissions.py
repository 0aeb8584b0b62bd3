"""Who may write what: every address that takes an entry, asked by each role, by an account without one, and by nobody.

The table is the workshop's custom, not a copy of the code: the front desk books and bills and touches no reading, the
mechanic reads and sets, and what concerns the house itself is the owner's.
"""

import json
import uuid
from decimal import Decimal
from itertools import chain

import pytest
from django.apps import apps
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.people.access import open_to
from garage.people.models import OpenSession, Role
from jobs.costs.actions import enter_cost
from tests.checklists.factories import sheet_with
from tests.factories import JobFactory
from tests.jobs_factories import proven_version
from tests.people.test_signing_in import OPEN_TO_ALL, every_address

OWNER, BENCH, DESK = Role.OWNER, Role.MECHANIC, Role.FRONT_DESK
EVERYBODY = {OWNER, BENCH, DESK}
AT_THE_CAR = {OWNER, BENCH}
MONEY = {OWNER, DESK}

CUSTOM = [
    # oneself, and who is at the bench
    (AT_THE_CAR, "people", "alone-today"),
    (
        EVERYBODY,
        "people",
        "sign-out switch first-pin account new-password new-pin end-session end-other-sessions prove",
    ),
    (EVERYBODY, "people", "time-code add-passkey remove-passkey new-recovery-codes remove-second-factor"),
    # the house
    ({OWNER}, "people", "workshop new-person person end-sessions-of second-factor-rule remove-second-factor-of"),
    ({OWNER}, "background", "try-again"),
    ({OWNER}, "mail", "settings test"),
    ({OWNER}, "export", "page remove"),
    ({OWNER}, "privacy", "copy forget erase-due"),
    ({OWNER}, "units", "new-type revise retire"),
    ({OWNER}, "maps", "retire-pattern"),
    ({OWNER}, "board", "kind"),
    ({OWNER}, "checklists", "new-template edit-template begin-draft revision publish drop-draft"),
    ({OWNER}, "checklists", "new-item edit-item move-item remove-item"),
    # without a list nobody at the bench could begin
    (AT_THE_CAR, "checklists", "put-in-shipped"),
    ({OWNER}, "rota", "hours bays close-bay open-bay"),
    ({OWNER}, "week", "usual-hours"),
    ({OWNER}, "rechecks", "text"),
    ({OWNER}, "post", "text"),
    # the week
    (EVERYBODY, "rota", "away cancel"),
    (EVERYBODY, "rechecks", "letters"),
    (EVERYBODY, "week", "move feeds withdraw-feed"),
    # booking
    (MONEY, "arrivals", "upload columns preview bring-in drop undo"),
    (EVERYBODY, "customers", "new edit"),
    (EVERYBODY, "vehicles", "new edit"),
    (EVERYBODY, "board", "book edit needed hold abandon take-up journal cautions-read"),
    (EVERYBODY, "documents", "make-link revoke-links send"),
    (EVERYBODY, "post", "try-again sent-by-hand stop"),
    # the bill
    (MONEY, "costs", "page withdraw"),
    (MONEY, "billing", "new credit pay refund withdraw-payment send"),
    (MONEY, "quotes", "new supplement version answer send"),
    (MONEY, "pricelist", "list part"),
    (MONEY, "stock", "bought count low-mark"),
    ({OWNER}, "billing", "settings add-rate retire-rate"),
    ({OWNER}, "quotes", "usual-parts"),
    (AT_THE_CAR, "costs", "hours withdraw-hours correct-hours start-timer stop-timer"),
    # the car
    (AT_THE_CAR, "units", "new-fitted fitted take-out back-on-shelf"),
    (AT_THE_CAR, "board", "go-on send-back unit"),
    (AT_THE_CAR, "inspection", "add-sweep-reading add-several-sweeps withdraw-sweep-reading check-mark"),
    (AT_THE_CAR, "inspection", "read-compression give-verdict"),
    (AT_THE_CAR, "checklists", "begin newer item from-paper confirm again correct-record send"),
    (AT_THE_CAR, "strobe", "begin-base begin-map record-clamp add-reading add-several withdraw send"),
    (AT_THE_CAR, "fitting", "rotor"),
    (AT_THE_CAR, "bench", "from-sheet start version release set-aside next refit"),
    (AT_THE_CAR, "maps", "carry-over keep read-back"),
    # only reckons
    (EVERYBODY, "bench", "judge paste typed"),
    (AT_THE_CAR, "roadtest", "begin note withdraw end place send from-paper"),
    (AT_THE_CAR, "proposals", "page"),
    (AT_THE_CAR, "roadlogs", "upload columns again clock remove"),
    (AT_THE_CAR, "handover", "sign-off again issue"),
]
MAY_WRITE = {f"{room}:{action}": roles for roles, room, actions in CUSTOM for action in actions.split()}

# One entry with something in it for every form: what is let in by mistake finds something to write.
TYPED = {
    "name": "Mira Holt", "reason": "as it was found", "words": "heard from the yard", "notes": "from the yard",
    "wanted": "runs without the points", "stage": "booked", "kind": "part", "description": "Rotor arm",
    "quantity": "1", "unit_price": "12.40", "base_deg": "8", "rpm": "800", "measured_deg": "8", "route": "Quarry hill",
    "registration": "KLM 204 B", "maker": "Alder", "model": "1500", "fitness": "ready", "remarks": "as it should be",
    "retired": "yes", "row_version": "1", "summary": "no pinking", "odometer": "61204", "odometer_unit": "miles",
}  # fmt: skip


@pytest.fixture
def car_at_work(actor):
    """A job with a map in the car, a sheet and a line of costs: there is something to spoil."""
    job = proven_version(actor).job
    sheet_with([{"key": "fuse"}], person=actor.person, job=job)
    enter_cost(
        job=job,
        id=uuid.uuid4(),
        kind="part",
        description="Cap",
        quantity=Decimal(1),
        unit_price=Decimal(9),
        actor=actor,
    )
    return job


def addresses(job):
    """Every address, leading to what is there where something of its kind is."""
    line = job.cost_lines.get()
    known = {
        "customers:edit": {"pk": job.vehicle.customer_id},
        **{f"privacy:{action}": {"pk": job.vehicle.customer_id} for action in ("copy", "forget")},
        "vehicles:edit": {"pk": job.vehicle_id},
        "people:person": {"pk": job.made_by_id},
        "units:revise": {"pk": job.unit.revision.unit_type_id},
        "units:retire": {"pk": job.unit.revision.unit_type_id},
        **{f"units:{action}": {"pk": job.unit_id} for action in ("fitted", "take-out", "back-on-shelf")},
        "board:go-on": {"leaving": job.stage},
        **{f"costs:{action}": {"pk": line.pk} for action in ("withdraw", "withdraw-hours", "correct-hours")},
        **{f"checklists:{action}": {"kind": "fitting"} for action in ("begin", "newer", "send")},
        **{
            f"checklists:{action}": {"kind": "fitting", "key": "fuse"}
            for action in ("item", "confirm", "correct-record")
        },
        "strobe:begin-map": {"purpose": "sweep"},
        "handover:issue": {"kind": "customer sheet"},
    }
    stand_ins = {"UUIDConverter": uuid.uuid4(), "IntConverter": 1}
    for name, converters in every_address():
        values = {key: stand_ins.get(type(converter).__name__, "x") for key, converter in converters.items()}
        if "code" in values:
            values["code"] = job.code
        yield name, reverse(name, kwargs=values | known.get(name, {}))


def the_record():
    """Every row of every table that is the workshop's, but for who is signed in: asking for a page notes that."""
    return {
        model._meta.label: sorted(map(repr, model._default_manager.values_list()))
        for model in chain(apps.get_app_config("garage").get_models(), apps.get_app_config("jobs").get_models())
        if model is not OpenSession
    }


def posted(client, url):
    now = timezone.now().isoformat()
    of_a_tablet = {
        "message": "entry", "id": str(uuid.uuid4()), "maker": client.session.get(SESSION_KEY, "1"), "item": "fuse",
        "madeAt": now, "sentAt": now, "outcome": "done",
    }  # fmt: skip
    answer = client.post(
        url,
        TYPED
        | {"idempotency_key": uuid.uuid4(), "id": uuid.uuid4(), "outcome": "done", "message": json.dumps(of_a_tablet)},
    )
    if answer.streaming:  # holds a file open until it is read
        b"".join(answer.streaming_content)
    return answer


def takes_entries(client, url) -> bool:
    answer = client.options(url)
    assert answer.status_code == 405, url  # every view says which ways of asking it knows
    return "POST" in answer["Allow"]


def test_the_table_names_every_address_that_takes_an_entry(browser_of, owner, car_at_work):
    client = browser_of(owner)
    taking = {name for name, url in addresses(car_at_work) if takes_entries(client, url)}
    assert taking - OPEN_TO_ALL == set(MAY_WRITE)


@pytest.mark.parametrize("role", [BENCH, DESK])
def test_what_is_not_the_role_s_to_write_is_refused_and_nothing_is_written(
    browser_of, mechanic, front_desk, car_at_work, role
):
    client, before = browser_of({BENCH: mechanic, DESK: front_desk}[role]), the_record()
    let_in = {
        name: answer.status_code
        for name, url in addresses(car_at_work)
        if name in MAY_WRITE and role not in MAY_WRITE[name] and (answer := posted(client, url)).status_code != 403
    }
    assert let_in == {}
    assert the_record() == before


def test_an_account_without_a_role_writes_nothing(browser_of, stranger, car_at_work):
    client, before = browser_of(stranger), the_record()
    let_in = {
        name: answer.status_code
        for name, url in addresses(car_at_work)
        if name in set(MAY_WRITE) - {"people:sign-out"} and (answer := posted(client, url)).status_code != 403
    }
    assert let_in == {}
    assert the_record() == before


def test_nobody_writes_without_signing_in(workshop, car_at_work):
    client, before = Client(), the_record()
    let_in = {
        name: answer.status_code
        for name, url in addresses(car_at_work)
        if name in MAY_WRITE
        and not ((answer := posted(client, url)).status_code == 302 and answer.url.startswith("/sign-in/"))
    }
    assert let_in == {}
    assert the_record() == before


@pytest.mark.parametrize("role", [OWNER, BENCH, DESK])
def test_what_is_the_role_s_to_write_is_not_shut_to_it(browser_of, owner, mechanic, front_desk, car_at_work, role):
    client = browser_of({OWNER: owner, BENCH: mechanic, DESK: front_desk}[role])
    shut = [
        name
        for name, url in addresses(car_at_work)
        if name != "people:sign-out"
        and role in MAY_WRITE.get(name, ())
        and posted(client, url).status_code in (403, 405)
    ]
    assert shut == []


def test_what_leads_to_a_page_knows_to_whom_the_page_is_shut(owner, mechanic, front_desk):
    code = JobFactory().code
    assert [open_to(person, f"/jobs/{code}/unit/?from=card#top") for person in (owner, mechanic, front_desk)] == [
        True, True, False,
    ]  # fmt: skip
    assert [open_to(person, f"/jobs/{code}/costs/") for person in (owner, mechanic, front_desk)] == [True, False, True]
    assert open_to(front_desk, "#here")
    assert not open_to(owner, "/nothing-here/")


def test_the_front_desk_reads_what_comes_next_at_the_bench_and_gets_no_button_for_it(browser_of, front_desk, mechanic):
    job = JobFactory(stage="base-timing")
    page = reverse("board:job", args=[job.code])
    desk, bench = (browser_of(person).get(page).content.decode() for person in (front_desk, mechanic))
    button = f'href="{reverse("strobe:page", args=[job.code])}#base">Read strobe</a>'
    assert button in bench
    assert button not in desk
    assert "Next: Read strobe" in desk
