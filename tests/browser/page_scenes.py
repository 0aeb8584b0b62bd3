"""A workshop with a car at every page: `python -m tests.browser.page_scenes` plays it and says the addresses."""

import json
import uuid
from decimal import Decimal

import django

django.setup()

from django.db import transaction  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402

from garage.mail.troubles import MailNotTakenError  # noqa: E402
from garage.people.models import Role  # noqa: E402
from garage.pricelist.actions import add_part  # noqa: E402
from garage.record.actor import Actor  # noqa: E402
from garage.vehicles.models import Vehicle  # noqa: E402
from jobs.billing.actions import issue_bill  # noqa: E402
from jobs.billing.queries import to_bill  # noqa: E402
from jobs.checklists.models import SheetKind  # noqa: E402
from jobs.costs.actions import enter_cost  # noqa: E402
from jobs.demo.road_log import keep_log  # noqa: E402
from jobs.documents.actions import make_link  # noqa: E402
from jobs.inspection.actions import record_compression, record_mark_check  # noqa: E402
from jobs.maps.actions import start_version  # noqa: E402
from jobs.post.actions import put_in_mail  # noqa: E402
from jobs.post.models import MailKind  # noqa: E402
from jobs.post.outcome_actions import keep_not_taken  # noqa: E402
from jobs.quotes.actions import Typed, send_quote  # noqa: E402
from jobs.quotes.models import QuoteKind  # noqa: E402
from jobs.quotes.quote_data import OfferedLine  # noqa: E402
from jobs.roadtest.actions import begin_run  # noqa: E402
from jobs.strobe.actions import begin_base_session, record_reading  # noqa: E402
from jobs.vat.actions import add_rate  # noqa: E402
from tests.browser.conftest import session_of  # noqa: E402
from tests.browser.supplement_scene import supplement_with_photographs  # noqa: E402
from tests.checklists.factories import every_kind, sheet_with  # noqa: E402
from tests.factories import (  # noqa: E402
    CustomerFactory,
    DeviceFactory,
    JobFactory,
    StaffFactory,
    VehicleFactory,
    WorkshopFactory,
)
from tests.jobs_factories import FittedUnitFactory, proven_version  # noqa: E402
from tests.mail.post_office import set_up_mail  # noqa: E402

# What people really type: long names without a blank in them, an address, a number.
LONG_MODEL = "Grand Tourer Drophead"
EMAIL = "constance.aubrey@example.org"


def car() -> Vehicle:
    customer = CustomerFactory(name="Featherstonehaugh and Daughters", phone="01632 960237", email=EMAIL)
    return VehicleFactory(registration="ZIQ 1104 K", model=LONG_MODEL, customer=customer, engine__cylinders=4)


def unknown_car() -> Vehicle:
    made = car()
    for part in (made.engine, made.distributor):
        for name in ("cylinders", "idle_rpm", "red_line_rpm", "base_timing_deg"):
            if hasattr(part, name):
                setattr(part, name, None)
        part.save()
    return made


def workshop() -> dict[str, object]:
    WorkshopFactory(phone="01632 960142")
    owner = StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER)
    actor = Actor(person=owner, at=timezone.now(), device=DeviceFactory())

    inspected = JobFactory(stage="inspection", vehicle=car())
    record_mark_check(job=inspected, id=uuid.uuid4(), first_deg=-40.0, second_deg=44.0, mark_deg=8.0, actor=actor)
    for cylinder, kpa in enumerate((1150.0, 1160.0, 860.0, 1180.0), start=1):
        record_compression(
            job=inspected, id=uuid.uuid4(), cylinder=cylinder, gauge_kpa=kpa, entered_unit="kPa", actor=actor
        )
    sheet_with(every_kind(), person=owner, job=inspected, kind=SheetKind.INSPECTION)
    fitted = sheet_with(every_kind(), person=owner, job=JobFactory(stage="fitting", vehicle=car())).job
    proven = proven_version(actor, job=JobFactory(stage="handover", vehicle=car()))
    draft = start_version(job=proven.job, parent=proven, reason="pinking at 2600, hill", actor=actor)
    rate = add_rate(name="Standard", percent=Decimal(20), wording="", idempotency_key=uuid.uuid4(), actor=actor)
    for words in ("Fitting and base timing", "Programmable unit with its loom and fuse holder"):
        enter_cost(
            job=proven.job,
            id=uuid.uuid4(),
            kind="part",
            description=words,
            quantity=Decimal("1.25"),
            unit_price=Decimal("1640.00"),
            actor=actor,
        )
    first = to_bill(proven.job)[0]
    today = timezone.localdate()
    bill = issue_bill(
        job=proven.job,
        rates={first.pk: rate},
        supplied_on=today,
        due_on=today,
        remarks="",
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )
    token = make_link(job=proven.job, idempotency_key=uuid.uuid4(), actor=actor)

    run = begin_run(
        job=proven.job,
        version_id=proven.pk,
        version_words=str(proven),
        route="Yard, ring road, Beacon hill",
        driver=owner,
        writer=None,
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )
    for seed in (1, 2):
        keep_log(run, file_name=f"{'hill' * 12}-{seed}.csv", seed=seed, pinks=seed == 1, actor=actor)
    logs = list(run.logs.values_list("pk", flat=True))
    quote = send_quote(
        job=inspected,
        typed=Typed(
            kind=QuoteKind.QUOTE,
            lines=[
                OfferedLine("part", "Programmable unit with its loom and fuse holder", Decimal(1), Decimal(1640), rate)
            ],
            valid_until=today,
        ),
        replaces=None,
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )
    supplement = supplement_with_photographs(fitted, rate, today, actor)
    asked_more = make_link(job=fitted, idempotency_key=uuid.uuid4(), actor=actor)
    asked = make_link(job=inspected, idempotency_key=uuid.uuid4(), actor=actor)
    part = add_part(
        name="Suppressed lead set for eight cylinders",
        part_number="LS-8",
        unit_price=Decimal("64.00"),
        counted=True,
        low_mark=Decimal(2),
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )

    set_up_mail(2525)
    mail = put_in_mail(
        job=proven.job, kind=MailKind.PAPERS, subject=proven.job, what="customer's sheet no. 1, restore sheet no. 1",
        address=EMAIL, subject_line="Papers of ZIQ 1104 K", text="Dear customer,\n\nsee below.", papers=[],
        idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    no_such_box = MailNotTakenError(
        "mail.example refused the recipient.", for_good=True, answer=f"550 5.1.1 <{EMAIL}>: no such box"
    )
    keep_not_taken(mail=mail, number=1, trouble=no_such_box, actor=actor)

    # A car in the yard of which nothing is known yet, on a shelf with two units.
    booked = JobFactory(kind="unit and map", odometer=52288, booked_for=today, vehicle=unknown_car())
    FittedUnitFactory()
    # A base timing that is proven, with the clamp to come: its form stands under the readings.
    proof = begin_base_session(job=fitted, base_deg=8, idempotency_key=uuid.uuid4(), actor=actor)
    for rpm in (900, 900, 2000, 2000):
        record_reading(session=proof, id=uuid.uuid4(), rpm=rpm, measured_deg=8, actor=actor)

    def of(job, *names):
        return [reverse(name, args=[job.code]) for name in names]

    pages = [
        "/",
        *of(inspected, "board:job", "inspection:page", "costs:page", "board:journal"),
        *of(fitted, "board:job", "fitting:rotor", "strobe:tape"),
        reverse("board:needed", args=[booked.code]),
        reverse("strobe:session", args=[fitted.code, proof.pk]),
        reverse("roadtest:run", args=[proven.job.code, run.pk]),
        reverse("checklists:from-paper", args=[fitted.code, "fitting"]),
        *of(proven.job, "board:job", "maps:page", "handover:page", "handover:after-care"),
        reverse("bench:version", args=[proven.job.code, proven.number]),
        reverse("bench:version", args=[proven.job.code, draft.number]),
        *of(proven.job, "proposals:page"),
        f"{reverse('proposals:why', args=[proven.job.code, draft.number])}?rpm=1900",
        reverse("maps:key-in", args=[proven.job.code, proven.number]),
        reverse("maps:read-back", args=[proven.job.code, proven.number]),
        reverse("vehicles:detail", args=[proven.job.vehicle_id]),
        reverse("customers:detail", args=[proven.job.vehicle.customer_id]),
        reverse("documents:customer-page", args=[token]),
        *of(proven.job, "billing:new", "documents:send"),
        reverse("post:mail", args=[proven.job.code, mail.pk]),
        reverse("billing:send", args=[bill.pk]),
        *(reverse(name) for name in ("mail:settings", "post:texts", "rechecks:letters")),
        reverse("post:text", args=["quote"]),
        *(reverse(f"billing:{name}", args=[bill.pk]) for name in ("bill", "credit")),
        *(reverse(f"billing:{name}") for name in ("list", "settings", "accounts")),
        reverse("pricelist:list"),
        reverse("roadlogs:logs", args=[proven.job.code, run.pk]),
        reverse("roadtest:from-paper", args=[proven.job.code, run.pk]),
        *(reverse(f"roadlogs:{name}", args=[proven.job.code, logs[0]]) for name in ("log", "columns")),
        f"{reverse('roadlogs:compare', args=[proven.job.code])}?first={logs[0]}&second={logs[1]}",
        *of(inspected, "quotes:page", "quotes:new", "costs:hours"),
        *(reverse(f"quotes:{name}", args=[inspected.code, quote.pk]) for name in ("quote", "version")),
        reverse("quotes:customer-quote", args=[asked, quote.pk]),
        *of(fitted, "quotes:supplement"),
        reverse("quotes:quote", args=[fitted.code, supplement.pk]),
        reverse("quotes:customer-quote", args=[asked_more, supplement.pk]),
        reverse("post:failed"),
        reverse("quotes:usual-parts"),
        reverse("stock:list"),
        reverse("stock:part", args=[part.pk]),
    ]
    return {"session": session_of(owner), "pages": pages}


if __name__ == "__main__":
    with transaction.atomic():
        told = workshop()
    print(json.dumps(told))
