"""Bills and credit notes: numbered without gaps, issued once, never changed."""

import threading
import uuid
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connections, transaction
from django.utils import timezone

from garage.record.idempotency import SentBeforeError
from jobs.billing import actions
from jobs.billing.actions import BillRefusedError, ClockBehindError
from jobs.billing.models import Bill, BillLine, BillSerial
from jobs.billing.queries import to_bill, undone_since
from jobs.costs.actions import withdraw_cost
from jobs.costs.models import CostLine
from jobs.costs.timer_actions import correct_hours
from jobs.vat.actions import retire_rate
from jobs.vat.models import VatRate
from tests.factories import JobFactory

NEW_YEAR = datetime(2027, 1, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def year(desk):
    return timezone.localdate(desk.at).year


def another_job(entered):
    job = JobFactory()
    entered(job, "part", "Cap", "1", "9.50")
    return job


def test_a_bill_says_what_it_is_for_and_what_it_comes_to(job, billed, year):
    bill = billed(job)
    assert (bill.number, bill.net, bill.vat, bill.gross) == (
        f"{year}-0001",
        Decimal("172.40"),
        Decimal("34.48"),  # 20 % of 172.40, by hand
        Decimal("206.88"),
    )
    assert bill.buyer_name == "Mira Holt"
    assert [(line.description, line.amount) for line in bill.lines.all()] == [
        ("Fitting and base timing", Decimal("160.00")),
        ("Rotor arm", Decimal("12.40")),
    ]


def test_each_line_goes_at_its_own_rate(job, billed, standard, exempt):
    hours, part = to_bill(job)
    bill = billed(job, rates={hours.pk: standard, part.pk: exempt})
    assert [(one.name, one.net, one.vat) for one in bill.rate_sums.all()] == [
        ("Standard", Decimal("160.00"), Decimal("32.00")),
        ("Exempt", Decimal("12.40"), Decimal("0.00")),
    ]


def test_what_is_on_a_bill_is_billed_no_second_time_and_the_rest_can_be(job, billed, standard):
    hours, part = to_bill(job)
    billed(job, rates={hours.pk: standard})
    assert to_bill(job) == [part]
    with pytest.raises(BillRefusedError, match="billed or undone"):
        billed(job, rates={hours.pk: standard})
    billed(job)
    assert to_bill(job) == []


def test_a_bill_with_nothing_on_it_is_refused_and_takes_no_number(job, billed, year):
    with pytest.raises(BillRefusedError, match="Nothing is on the bill"):
        billed(job, rates={})
    assert billed(job).number == f"{year}-0001"


def test_a_bill_that_was_refused_under_way_leaves_no_gap(job, billed, year, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(actions, "_note_issued", lambda *args, **kwargs: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            billed(job)
    assert billed(job).number == f"{year}-0001"


def test_numbers_begin_at_one_each_year(entered, billed, desk, in_form):
    in_form("YYYY-####")
    old = replace(desk, at=NEW_YEAR - timedelta(days=7))
    assert billed(another_job(entered), actor=old).number == "2026-0001"
    new = replace(desk, at=NEW_YEAR)
    assert billed(another_job(entered), actor=new).number == "2027-0001"


def test_numbers_without_a_year_run_on(entered, billed, desk, in_form):
    in_form("R-###")
    billed(another_job(entered), actor=replace(desk, at=NEW_YEAR - timedelta(days=7)))
    assert billed(another_job(entered), actor=replace(desk, at=NEW_YEAR)).number == "R-002"


def test_a_form_that_gives_a_number_again_is_refused(entered, billed, in_form, desk):
    in_form("YYYY-####")
    billed(another_job(entered))
    in_form(f"{timezone.localdate(desk.at).year}-####")
    with pytest.raises(BillRefusedError, match="given out before"):
        billed(another_job(entered))


def test_a_form_sent_twice_issues_one_bill(job, billed, standard):
    key, rates = uuid.uuid4(), {line.pk: standard for line in to_bill(job)}
    assert billed(job, idempotency_key=key, rates=rates) == billed(job, idempotency_key=key, rates=rates)
    assert Bill.objects.count() == 1


def test_an_old_page_with_other_lines_is_refused_instead_of_lost(job, billed, standard):
    key, (hours, part) = uuid.uuid4(), to_bill(job)
    billed(job, idempotency_key=key, rates={hours.pk: standard})
    with pytest.raises(SentBeforeError):
        billed(job, idempotency_key=key, rates={part.pk: standard})


def test_a_bill_whose_number_goes_to_another_meanwhile_is_set_again_with_the_next(
    job, entered, billed, year, monkeypatch
):
    other, set_at_once, seen = another_job(entered), actions.set_bill, []

    def set_slowly(facts):
        seen.append(facts["number"])
        if len(seen) == 1:
            monkeypatch.setattr(actions, "set_bill", set_at_once)
            seen.append(billed(other).number)
            monkeypatch.setattr(actions, "set_bill", set_slowly)
        return set_at_once(facts)

    monkeypatch.setattr(actions, "set_bill", set_slowly)
    bill = billed(job)
    assert seen == [f"{year}-0001", f"{year}-0001", f"{year}-0002"]
    assert bill.number == f"{year}-0002"
    with bill.file.open() as paper:
        assert paper.read() == f"%PDF of {year}-0002".encode()


def test_of_two_who_bill_the_same_job_at_once_the_second_is_refused(job, billed, monkeypatch, year):
    set_at_once = actions.set_bill

    def set_slowly(facts):
        monkeypatch.setattr(actions, "set_bill", set_at_once)
        billed(job)
        return set_at_once(facts)

    monkeypatch.setattr(actions, "set_bill", set_slowly)
    with pytest.raises(BillRefusedError, match="billed or undone"):
        billed(job)
    assert [bill.number for bill in Bill.objects.all()] == [f"{year}-0001"]
    assert BillSerial.objects.get().last == 1


@pytest.mark.django_db(transaction=True)
def test_six_people_at_once_get_six_numbers_in_a_row(entered, billed):
    jobs, failed = [another_job(entered) for _ in range(6)], []

    def issue(job):
        try:
            billed(job)
        except Exception as problem:
            failed.append(problem)
        finally:
            connections.close_all()

    people = [threading.Thread(target=issue, args=[job]) for job in jobs]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert failed == []
    assert sorted(Bill.objects.values_list("serial", flat=True)) == [1, 2, 3, 4, 5, 6]


def test_a_clock_that_went_back_a_day_is_asked_about(entered, billed, desk):
    billed(another_job(entered))
    job, yesterday = another_job(entered), replace(desk, at=desk.at - timedelta(days=1))
    with pytest.raises(ClockBehindError, match="Set the clock right"):
        billed(job, actor=yesterday)
    assert billed(job, actor=yesterday, date_is_right=True).issued_on == timezone.localdate(yesterday.at)


def test_a_clock_that_goes_back_an_hour_within_the_day_changes_nothing(entered, billed, desk):
    noon = replace(desk, at=datetime(2026, 10, 25, 12, 0, tzinfo=UTC))
    first = billed(another_job(entered), actor=noon)
    second = billed(another_job(entered), actor=replace(noon, at=noon.at - timedelta(hours=1)))
    assert (first.serial, second.serial) == (1, 2)


def test_dates_that_make_no_sense_are_refused(job, billed, desk):
    today = timezone.localdate(desk.at)
    with pytest.raises(BillRefusedError, match="dated after today"):
        billed(job, supplied_on=today + timedelta(days=1))
    with pytest.raises(BillRefusedError, match="due before it is issued"):
        billed(job, due_on=today - timedelta(days=1))
    # 0026 and 2206 typed for 2026
    for slip in ({"supplied_on": date(26, 11, 28)}, {"due_on": date(2206, 12, 12)}):
        with pytest.raises(BillRefusedError, match="Check the year"):
            billed(job, **slip)


def test_a_retired_rate_goes_on_no_new_bill(job, billed, standard, desk):
    retire_rate(rate=standard, actor=desk)
    standard.refresh_from_db()
    with pytest.raises(BillRefusedError, match="retired"):
        billed(job)


@pytest.mark.parametrize("change", [{"number": "x"}, {"gross": 1}, {"buyer_name": "x"}, {"issued_on": "2020-01-01"}])
def test_the_database_refuses_to_change_a_bill(job, billed, change):
    billed(job)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        Bill.objects.update(**change)


def test_the_database_refuses_to_delete_a_line_of_a_bill(job, billed):
    billed(job)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        BillLine.objects.all().delete()


def test_what_is_undone_after_its_bill_is_pointed_out_and_the_bill_stays(job, billed, desk):
    bill = billed(job)
    withdraw_cost(line=CostLine.objects.get(description="Rotor arm"), actor=desk)
    assert [line.description for line in undone_since(job)] == ["Rotor arm"]
    assert bill.lines.count() == 2


def test_hours_corrected_after_their_bill_are_charged_once(job, billed, credited, desk):
    bill, hours = billed(job), CostLine.objects.get(kind="hours")
    for figure in ("3.0", "3.5"):
        hours = correct_hours(line=hours, id=uuid.uuid4(), hours=Decimal(figure), reason="Lunch", actor=desk)
    assert [line.description for line in undone_since(job)] == ["Fitting and base timing"]
    assert to_bill(job) == []
    with pytest.raises(BillRefusedError, match="billed or undone"):
        billed(job, rates={hours.pk: VatRate.objects.get()})
    credited(bill, [bill.lines.get(quantity=Decimal("2.5")).pk])
    assert to_bill(job) == [hours]


def test_a_credit_note_takes_the_next_number_and_gives_the_work_back_to_be_billed(job, billed, credited, year):
    bill = billed(job)
    note = credited(bill)
    assert (note.number, note.gross, note.credits) == (f"{year}-0002", bill.gross, bill)
    assert len(to_bill(job)) == 2
    assert billed(job).number == f"{year}-0003"


def test_a_credit_note_is_not_credited(job, billed, credited):
    note = credited(billed(job))
    with pytest.raises(BillRefusedError, match="This is a credit note"):
        credited(note, [line.pk for line in note.lines.all()])
    assert Bill.objects.count() == 2


def test_a_line_is_credited_once(job, billed, credited):
    bill = billed(job)
    line = bill.lines.first()
    credited(bill, [line.pk])
    with pytest.raises(BillRefusedError, match="credited meanwhile"):
        credited(bill, [line.pk])


def test_credit_notes_on_parts_of_a_bill_come_to_the_whole_of_it(entered, billed, credited):
    job = JobFactory()
    for place in range(3):
        entered(job, "part", f"Washer {place}", "1", "0.33")
    bill = billed(job)
    notes = [credited(bill, [line.pk]) for line in bill.lines.all()]
    assert bill.gross == Decimal("1.19")  # 0.99 and 0.20, by hand
    assert sum(note.gross for note in notes) == bill.gross


@pytest.mark.parametrize(
    ("more", "words"), [({"lines": []}, "Nothing is on the credit note"), ({"reason": "  "}, "Say why")]
)
def test_a_credit_note_without_a_line_or_a_reason_is_refused(job, billed, credited, more, words):
    with pytest.raises(BillRefusedError, match=words):
        credited(billed(job), **more)


def test_nothing_of_money_stands_in_the_journal_of_the_job(job, billed, credited):
    before = job.journal.count()
    credited(billed(job))
    assert job.journal.count() == before
