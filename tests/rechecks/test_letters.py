"""Reminders by letter and mail: which are due, that nobody is reminded twice, and what the paper says."""

import io
import uuid
from datetime import timedelta
from functools import partial

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from pypdf import PdfReader

from garage.models import Customer, Workshop
from garage.record.models import TrailEntry
from garage.record.row_versions import StaleEditError
from jobs.job.models import GateCrossing
from jobs.models import Mail, Reminder, ReminderBatch
from jobs.privacy.actions import forget
from jobs.rechecks import actions
from jobs.rechecks.letters import due_reminders, set_letters
from jobs.rechecks.wording import PLACEHOLDERS, TEXT_AT_FIRST, WordingError, check, filled
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.mail.post_office import set_up_mail
from timing.errors import TimingError
from timing.sheets.pdf import DocumentLibraryMissing

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


@pytest.fixture
def due(mechanic):
    """`due("Mira Holt")`: a car that was handed over a year ago, by its customer's name."""
    Workshop.objects.update(phone="01632 960142")

    def made(name, *, days_ago=366, vehicle=None, odometer=None, **customer):
        values = {"address": "3 Ferry Lane\nNether Hatch"} | customer
        vehicle = vehicle or VehicleFactory(customer=CustomerFactory(name=name, **values))
        came = TODAY - timedelta(days=days_ago)
        job = JobFactory(
            stage="after-care", vehicle=vehicle, booked_for=came, odometer=odometer, odometer_unit="km"
        )  # fmt: skip
        at = timezone.now() - timedelta(days=days_ago)
        GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=mechanic, at=at)
        return job

    return made


def printed(actor, *jobs):
    return actions.print_letters(jobs={job.pk for job in jobs}, idempotency_key=uuid.uuid4(), actor=actor)


def why_not(job):
    return {one.job: one.why for one in due_reminders(TODAY)[1]}[job]


def test_a_car_that_is_due_gets_a_letter_that_names_it_and_the_day(due, actor):
    job = due("Mira Holt")
    printed(actor, job)
    reminder = Reminder.objects.get()
    assert (reminder.job, reminder.channel, reminder.batch.made_by) == (job, "letter", actor.person)
    assert reminder.text.startswith("Dear Mira Holt,\n\nYour Alder 1500 saloon, ")
    assert job.vehicle.registration in reminder.text
    assert job.journal.get().sentence.startswith("Reminder letter printed: due ")


def test_nobody_is_reminded_twice_of_the_same_day(due, actor):
    job = due("Mira Holt")
    printed(actor, job)
    assert why_not(job) == "reminded already"
    with pytest.raises(actions.ReminderRefusedError):
        printed(actor, job)
    first = Reminder.objects.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        Reminder.objects.create(batch=first.batch, job=job, due_on=first.due_on, text="again")


def test_a_car_due_by_miles_and_later_by_date_is_reminded_of_each(due, actor):
    """1000 km in 134 days: the first 800 km were driven 107 days after it left, its year is over tomorrow."""
    vehicle = VehicleFactory(customer=CustomerFactory(name="Mira Holt", address="3 Ferry Lane"))
    due("", vehicle=vehicle, days_ago=500, odometer=10_000)
    job = due("", vehicle=vehicle, days_ago=366, odometer=11_000)
    printed(actor, job)
    printed(actor, job)
    by_miles, by_date = Reminder.objects.order_by("due_on")
    assert by_miles.due_on == TODAY - timedelta(days=366 - 107)
    assert "first re-check, 800 km" in by_miles.text
    assert "not checked since handover" in by_date.text
    assert why_not(job) == "reminded already"


def test_one_who_said_no_gets_none(due, actor):
    job = due("Mira Holt", no_reminders=True)
    assert why_not(job) == "said no to reminders"
    with pytest.raises(actions.ReminderRefusedError):
        printed(actor, job)


def test_said_no_is_a_tick_on_the_customer(browser_of, front_desk):
    customer = CustomerFactory(name="Mira Holt")
    typed = {"name": "Mira Holt", "no_reminders": "on", "row_version": 1}
    browser_of(front_desk).post(reverse("customers:edit", args=[customer.pk]), typed)
    assert Customer.objects.get().no_reminders
    assert "said no" in browser_of(front_desk).get(reverse("customers:detail", args=[customer.pk])).content.decode()


def test_a_letter_without_an_address_is_not_printed(due):
    assert why_not(due("Mira Holt", address="  \n ")) == "no address"


def test_no_letter_says_to_ring_a_phone_that_is_not_set(due, actor):
    job = due("Mira Holt")
    Workshop.objects.update(phone="")
    with pytest.raises(actions.ReminderRefusedError, match="Set the phone"):
        printed(actor, job)


def test_a_form_sent_twice_prints_one_batch(due, browser_of, front_desk):
    job = due("Mira Holt")
    typed = {"jobs": [job.pk], "idempotency_key": uuid.uuid4()}
    answers = [browser_of(front_desk).post(reverse("rechecks:letters"), typed) for _ in range(2)]
    assert answers[0].url == answers[1].url == reverse("rechecks:batch", args=[ReminderBatch.objects.get().pk])
    assert Reminder.objects.count() == 1


def test_a_form_sent_again_with_other_cars_is_refused_and_not_lost_in_the_first_batch(due, browser_of, front_desk):
    first, second = due("Mira Holt"), due("Sol Adair")
    client, typed = browser_of(front_desk), {"idempotency_key": uuid.uuid4()}
    client.post(reverse("rechecks:letters"), typed | {"jobs": [first.pk]})
    answer = client.post(reverse("rechecks:letters"), typed | {"jobs": [second.pk]})
    assert answer.status_code == 422
    assert "sent before with other entries" in answer.content.decode()
    assert client.post(reverse("rechecks:letters"), typed | {"jobs": [first.pk, second.pk]}).status_code == 422
    assert Reminder.objects.get().job == first


def while_letters_are_set(monkeypatch, meanwhile):
    at_once = actions.set_letters

    def set_slowly(letters, at):
        monkeypatch.setattr(actions, "set_letters", at_once)
        meanwhile()
        return b"%PDF"

    monkeypatch.setattr(actions, "set_letters", set_slowly)


def test_of_two_who_remind_of_one_car_at_once_the_second_is_told(due, actor, monkeypatch):
    job = due("Mira Holt")
    while_letters_are_set(monkeypatch, lambda: printed(actor, job))
    with pytest.raises(actions.ReminderRefusedError, match="Someone else just reminded"):
        printed(actor, job)
    assert Reminder.objects.count() == ReminderBatch.objects.count() == 1


def test_whoever_says_no_while_letters_are_set_gets_none(due, actor, monkeypatch):
    job = due("Mira Holt")
    while_letters_are_set(monkeypatch, lambda: Customer.objects.update(no_reminders=True))
    with pytest.raises(actions.ReminderRefusedError, match="said no meanwhile"):
        printed(actor, job)
    assert not Reminder.objects.exists()


def test_where_no_paper_can_be_made_nobody_counts_as_reminded(due, browser_of, front_desk, monkeypatch):
    job = due("Mira Holt")

    def missing(*args, **kwargs):
        raise DocumentLibraryMissing("Documents cannot be made: the text library Pango is not installed.")

    monkeypatch.setattr("jobs.rechecks.letters.set_paper", missing)
    answer = browser_of(front_desk).post(
        reverse("rechecks:letters"), {"jobs": [job.pk], "idempotency_key": uuid.uuid4()}
    )
    assert "Pango is not installed" in answer.content.decode()
    assert not Reminder.objects.exists()
    assert issubclass(DocumentLibraryMissing, TimingError)


def test_the_batch_is_one_pdf_with_a_page_for_each_letter_read_by_pypdf(due, actor, browser_of, front_desk):
    cars = [due("Mira Holt"), due("Signe Öhman & <Sons>")]
    batch = printed(actor, *cars)
    answer = browser_of(front_desk).get(reverse("rechecks:batch-pdf", args=[batch.pk]))
    assert answer["Content-Type"] == "application/pdf"
    assert "no-store" in answer["Cache-Control"]
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages]
    assert len(pages) == 2
    for job, page in zip(cars, pages, strict=True):
        assert job.vehicle.customer.name in page
        assert "3 Ferry Lane" in page
        assert job.vehicle.registration in page


def test_the_same_batch_printed_again_is_the_same_paper(due, actor):
    batch = printed(actor, due("Mira Holt"))
    letters = list(batch.reminders.select_related("job__vehicle__customer"))
    assert set_letters(letters, batch.made_at) == set_letters(letters, batch.made_at)


def test_a_customer_who_was_erased_since_is_in_no_letter_that_is_printed_again(due, actor, owner):
    batch = printed(actor, due("Mira Holt"), due("Tove Lind"))
    forget(
        customer=Customer.objects.get(name="Mira Holt"), reason="asked for it", photographs=(), plates=False, words=[],
        idempotency_key=uuid.uuid4(), actor=type(actor)(person=owner, at=actor.at),
    )  # fmt: skip
    assert "Mira" not in str(list(Reminder.objects.values_list("text", flat=True)))
    letters = list(batch.reminders.select_related("job__vehicle__customer"))
    (page,) = PdfReader(io.BytesIO(set_letters(letters, batch.made_at))).pages
    assert "Tove Lind" in page.extract_text()


@pytest.mark.parametrize(
    "text",
    [
        "{}",
        "{custmer}",
        "{customer.pk}",
        "{customer[0]}",
        "{customer!r}",
        "{customer:>9}",
        "{customer",
        "customer}",
        "{0}",
    ],
)
def test_a_brace_that_stands_for_nothing_is_refused(text):
    with pytest.raises(WordingError):
        check(text)


def test_every_placeholder_is_filled_in_and_doubled_braces_are_braces():
    text = "".join(f"{{{name}}}|" for name in PLACEHOLDERS) + "{{x}}"
    assert filled(text, PLACEHOLDERS) == "|".join(PLACEHOLDERS.values()) + "|{x}"


def test_what_a_customer_is_called_is_never_filled_in_a_second_time():
    assert filled("{customer}", PLACEHOLDERS | {"customer": "{phone}"}) == "{phone}"


def test_the_owner_s_text_goes_out_and_its_change_is_kept(due, actor, owner):
    boss = type(actor)(person=owner, at=actor.at)
    actions.write_text(text="{registration} is due.", row_version=1, actor=boss)
    job = due("Mira Holt")
    printed(actor, job)
    assert Reminder.objects.get().text == f"{job.vehicle.registration} is due."
    changed = TrailEntry.objects.get(subject_kind="workshop", event="changed").changes
    assert changed == [{"label": "text of the reminder", "before": TEXT_AT_FIRST, "after": "{registration} is due."}]
    with pytest.raises(StaleEditError):
        actions.write_text(text="Other words.", row_version=1, actor=boss)


def test_the_page_refuses_a_wrong_placeholder_and_keeps_the_text(browser_of, owner):
    typed = {"text": "Dear {custmer}, come <b>soon</b>", "row_version": 1}
    answer = browser_of(owner).post(reverse("rechecks:text"), typed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "{custmer} stands for nothing" in page
    assert "come &lt;b&gt;soon&lt;/b&gt;" in page


def test_the_page_shows_the_text_with_a_sample_filled_in(browser_of, owner):
    Workshop.objects.update(phone="01632 960142")
    assert "Dear Mira Holt" in browser_of(owner).get(reverse("rechecks:text")).content.decode()


@pytest.fixture
def by_mail(due):
    """`by_mail("Mira Holt")`: a car that is due, whose customer has an email; mail is set up."""
    set_up_mail(2525)
    return partial(due, email="mira@holt.example")


def mailed(actor, *jobs):
    return actions.send_mails(jobs={job.pk for job in jobs}, idempotency_key=uuid.uuid4(), actor=actor)


def test_a_mail_reminds_in_the_words_of_the_letter_and_is_put_in(by_mail, actor):
    job = by_mail("Mira Holt", address="")
    mailed(actor, job)
    reminder = Reminder.objects.get()
    assert (reminder.channel, reminder.mail.address, reminder.mail.text) == ("mail", "mira@holt.example", reminder.text)
    assert reminder.mail.subject_line == f"{job.vehicle.registration}: check due"
    assert DBTaskResult.objects.get().args_kwargs["kwargs"] == {"mail": reminder.mail.pk}
    assert [line.sentence.split(":")[0] for line in job.journal] == ["Mail to the customer", "Reminded by email"]


def test_who_was_reminded_by_mail_gets_no_letter_of_the_same_day(by_mail, actor):
    job = by_mail("Mira Holt")
    mailed(actor, job)
    assert why_not(job) == "reminded already"
    with pytest.raises(actions.ReminderRefusedError):
        printed(actor, job)


def test_no_mail_to_one_who_said_no_or_has_no_email(by_mail, actor):
    for job in (by_mail("Mira Holt", no_reminders=True), by_mail("Tove Lind", email="")):
        with pytest.raises(actions.ReminderRefusedError):
            mailed(actor, job)
    assert not Mail.objects.exists()


def test_a_reminder_that_fails_takes_its_mail_with_it(by_mail, actor, monkeypatch):
    def lost(*args, **kwargs):
        raise IntegrityError

    job = by_mail("Mira Holt")
    monkeypatch.setattr("jobs.rechecks.actions.journal.write", lost)
    with pytest.raises(actions.ReminderRefusedError, match="Someone else"):
        mailed(actor, job)
    assert (Mail.objects.count(), Reminder.objects.count(), DBTaskResult.objects.count()) == (0, 0, 0)


def test_the_page_offers_mail_first_and_the_letter_besides(by_mail, due, browser_of, front_desk):
    both, paper = by_mail("Mira Holt"), due("Tove Lind")
    page = browser_of(front_desk).get(reverse("rechecks:letters"))
    offered = {way["channel"]: way["form"].fields["jobs"] for way in page.context["ways"]}
    assert [key for key, _ in offered["mail"].choices] == [both.pk]
    assert {key for key, _ in offered["letter"].choices} == {both.pk, paper.pk}
    assert (offered["mail"].initial, offered["letter"].initial) == ([both.pk], [paper.pk])
    typed = {"jobs": [both.pk], "channel": "mail", "idempotency_key": uuid.uuid4()}
    answers = [browser_of(front_desk).post(reverse("rechecks:letters"), typed) for _ in range(2)]
    assert answers[0].url == answers[1].url == reverse("rechecks:batch", args=[ReminderBatch.objects.get().pk])
    assert Mail.objects.count() == 1
    batch = browser_of(front_desk).get(answers[0].url).content.decode()
    assert reverse("post:mail", args=[both.code, Mail.objects.get().pk]) in batch
