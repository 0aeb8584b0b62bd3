"""One box finds anything that was written, however it is spelled; the same on both databases."""

from datetime import datetime, timedelta

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from garage.finding import index
from garage.finding.layout import TABLE
from garage.record.events import Event
from jobs.costs.actions import enter_cost
from jobs.finding.search import MOST_FOUND, search
from jobs.finding.tasks import put_in_putting_together, search_put_together
from jobs.job import journal
from jobs.models import RoadNote, RoadRun
from tests.checklists.factories import enter, sheet_with
from tests.factories import CustomerFactory, JobFactory, VehicleFactory, fact_of
from tests.jobs_factories import FittedUnitFactory, MapVersionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def car():
    customer = CustomerFactory(name="Søren Öhlmann", phone="+44 1632 960-118", notes="rings at six")
    return VehicleFactory(registration="HLD 150 C", customer=customer, maker="Alder", notes="kept in a barn")


@pytest.fixture
def job(car):
    return JobFactory(vehicle=car, wanted="Starts hot", complaint="Stalls at the lights")


def words_of_the_index():
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT words FROM {TABLE}")
        return " ".join(words for (words,) in cursor.fetchall())


@pytest.mark.parametrize(
    "typed", ["öhlmann", "OHLMANN", "Öhl", "o\u0308hlmann", "søren", "SØREN", "soren", "960118", "441632", "six rings"]
)
def test_a_customer_is_found_however_the_name_or_number_is_typed(car, typed):
    # 'soren' is one letter off: an o with a stroke is a letter of its own, and no o with an accent (Unicode, NFD).
    assert search(typed).customers == [car.customer]


@pytest.mark.parametrize("typed", ["ohlman", "ohllmann", "ohlmamn", "holmann", "ohlmnan", "phlmann", "ohlmann alder"])
def test_a_letter_wrong_in_a_name_still_finds_it(car, typed):
    assert search(typed).vehicles == [car]


@pytest.mark.parametrize("written", ["\u22120.2", "-0.2", "\u22120,2"])
@pytest.mark.parametrize("typed", ["-0.2", "\u22120.2", "0.2"])
def test_a_figure_below_nought_is_found_with_either_minus(job, actor, written, typed):
    """Unicode has a minus of its own, U+2212, and calls the key of a keyboard hyphen-minus, U+002D."""
    line = f"Crept by {written} degrees"
    journal.write(job, Event.NOTED, line, actor=actor)
    journal.write(job, Event.NOTED, "Crept by 0.6 of 3", actor=actor)
    assert [note.words for note in search(typed).notes] == [line]
    assert [note.words for note in search(f"crept {typed}").notes] == [line]


def test_a_figure_below_nought_is_found_beside_what_its_car_is_called(job, actor):
    journal.write(job, Event.NOTED, "Clamp reads \u221212 now", actor=actor)
    assert [note.words for note in search("hld150c -12").notes] == ["Clamp reads \u221212 now"]


def test_it_is_said_what_was_found_instead(browser_of, owner, car):
    page = browser_of(owner).get("/search/", {"q": "ohlmamn"}).content.decode()
    assert "Nothing found for <q>ohlmamn</q>" in page
    assert '<mark class="found">Öhlmann</mark>' in page


@pytest.mark.parametrize("typed", ["hld151c", "hld 150 d", "960119", "ohxxann", "zzzz"])
def test_a_figure_wrong_or_two_letters_wrong_is_something_else(car, typed):
    assert search(typed).nothing


def test_what_was_written_about_a_job_is_found_wherever_it_stands(job, actor):
    journal.write(job, Event.NOTED, "Condenser rattles on the bracket", actor=actor)
    enter(sheet_with([{"key": "fuse", "text": "Fuse rated"}], person=actor.person, job=job), "fuse", actor.person,
          note="Verdigris under the clip")  # fmt: skip
    version = MapVersionFactory(job=job, reason="Softer at the knee")
    run = RoadRun.objects.create(
        job=job, map_version=version, route="Quarry hill", driver=actor.person, begun_at=timezone.now()
    )
    RoadNote.objects.create(**fact_of(actor), run=run, kind="surge", words="hunts at a steady throttle")
    for typed, of in [
        ("condenser", "Journal"), ("verdigris", "Fuse rated"), ("softer knee", f"Map version {version.number}"),
        ("quarry", "Road test"), ("steady throttle", "Road test"),
    ]:  # fmt: skip
        assert [(note.job, note.of) for note in search(typed).notes] == [(job, of)], typed


def test_words_may_stand_in_different_places(job, actor):
    FittedUnitFactory(serial_number="F-4410", vehicle=job.vehicle)
    for _ in range(3):
        JobFactory(wanted="Starts hot", vehicle=VehicleFactory(maker="Alder"))
    journal.write(job, Event.NOTED, "Condenser rattles", actor=actor)
    assert search("öhlmann alder").vehicles == [job.vehicle]
    assert search("öhlmann lights").jobs == [job]
    assert search("hld hot").jobs == [job]
    assert [note.words for note in search("hld150c rattles").notes] == ["Condenser rattles"]
    assert search("öhlmann windscreen").nothing


def test_the_best_comes_first_however_many_newer_ones_hold_it_too():
    """'KLM 20' among a hundred plates that begin so, entered after it."""
    exact = VehicleFactory(registration="KLM 20")
    begins = VehicleFactory(registration="KLM 20 B")
    for n in range(2 * MOST_FOUND):
        VehicleFactory(registration=f"KLM 20{n:02d}")
    found = search("klm20").vehicles
    assert found[0] == exact
    assert len(found) == MOST_FOUND
    assert search("klm20b").vehicles == [begins]


@pytest.mark.parametrize("newest", [1, 3, 400])
def test_a_common_word_finds_the_newest_that_hold_it_however_many_are_looked_at_first(monkeypatch, newest):
    monkeypatch.setattr(index, "NEWEST", newest)
    for name in ("Condenser Ltd", "Old Condenser Co", "Capsule Works", "New Condenser Co", "Wick & Son"):
        CustomerFactory(name=name)
    found = index.matching("customers", [(" condenser ",)], most=2)
    assert [words.split()[0] for _, words in found] == ["New", "Old"]


def test_what_is_changed_is_found_by_its_new_words_alone(car):
    car.maker = "Belford"
    car.save()
    assert search("belford").vehicles == [car]
    assert search("alder").nothing
    type(car).objects.filter(pk=car.pk).update(notes="")
    assert search("barn").nothing


def test_a_customer_who_was_erased_is_in_no_index(car):
    car.customer.forgotten_at = timezone.now()
    car.customer.save()
    assert search("rings").nothing
    assert "öhlmann" not in words_of_the_index().lower()


def test_a_failed_transaction_leaves_no_word(car):
    from django.db import transaction

    with pytest.raises(ZeroDivisionError), transaction.atomic():  # noqa: PT012
        CustomerFactory(name="Never Entered")
        assert search("entered").customers
        raise ZeroDivisionError
    assert search("entered").nothing


def test_what_a_job_costs_is_in_no_index(job, owner, browser_of, mechanic, actor):
    enter_cost(
        job=job, id=fact_of(actor)["id"], kind="part", description="coil bracket", quantity=1, unit_price=7391,
        actor=actor,
    )  # fmt: skip
    assert search("7391").nothing
    assert "jobs_costline" not in {kept.table for kept in index.kept_tables()}


def test_the_index_says_what_the_book_says(job, actor):
    FittedUnitFactory(serial_number="F-4410", batch="26-W14")
    journal.write(job, Event.NOTED, 'It\'s "in" the (red) box;\n\ttwice, 5/8\\ – ’tis', actor=actor)
    assert index.differing() == {}
    assert search("tis red box").notes


def test_an_index_that_lost_a_row_is_told_and_made_afresh(job, capsys):
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {TABLE} WHERE kind = 'vehicle'")
    assert search("barn").nothing
    assert index.differing() == {"garage_vehicle": 1}
    call_command("rebuild_search")
    assert index.differing() == {}
    assert search("barn").vehicles == [job.vehicle]


def test_every_table_that_is_kept_findable_has_its_triggers_after_the_last_migration():
    """SQLite forgets a table's triggers when a later migration rebuilds it: repeat `KeepFindable` there."""
    from garage.backup.checks import missing_guards

    assert len(index.kept_tables()) == 15
    assert missing_guards(connection) == []


def test_while_one_types_the_list_comes_alone(browser_of, mechanic, job):
    answer = browser_of(mechanic).get("/search/", {"q": "hld150c"}, headers={"HX-Request": "true"})
    page = answer.content.decode()
    assert job.code in page
    assert '<mark class="found">HLD 150 C</mark>' in page
    assert "<html" not in page


def test_what_was_typed_is_shown_as_text(browser_of, mechanic):
    VehicleFactory(maker="<b>Alder</b>", model="script")
    page = browser_of(mechanic).get("/search/", {"q": "alder <script>"}).content.decode()
    assert "<b>Alder" not in page
    assert '&lt;b&gt;<mark class="found">Alder</mark>' in page


def parts_of_the_customers_index():
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(DISTINCT segid) FROM {TABLE}_customers_idx")
        return cursor.fetchone()[0]


def many_parts():
    """An index that grew for weeks: FTS5 is told not to put its parts together by itself."""
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO {TABLE}_customers ({TABLE}_customers, rank) VALUES ('automerge', 0)")
    names = [f"Mira {name}" for name in ("Holt", "Hold", "Bolt", "Holtby", "Colt", "Volt", "Dolt", "Holter")]
    return [CustomerFactory(name=name) for name in names]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL looks after its own index")
@pytest.mark.parametrize("pages", [1, 64])
def test_an_index_of_many_parts_is_put_together_and_finds_what_it_found(monkeypatch, pages):
    monkeypatch.setattr(index, "PAGES_AT_ONCE", pages)
    many_parts()
    asked = ["holt", "mira", "holy", "bol"]
    before = [search(text) for text in asked]
    assert index.rooms_in_many_parts() == ["customers"]
    index.put_together()
    assert (parts_of_the_customers_index(), index.rooms_in_many_parts()) == (1, [])
    assert [search(text) for text in asked] == before
    with connection.cursor() as cursor:  # FTS5's own check of its pages against the table
        cursor.execute(f"INSERT INTO {TABLE}_customers ({TABLE}_customers, rank) VALUES ('integrity-check', 1)")


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL looks after its own index")
def test_it_is_put_together_once_a_night_and_only_where_it_lies_in_many_parts():
    night = timezone.make_aware(datetime(2026, 6, 10, 2, 0))
    put_in_putting_together(night + timedelta(hours=2))
    assert not DBTaskResult.objects.exists()
    many_parts()
    for hours in (0, 2, 9):
        put_in_putting_together(night + timedelta(hours=hours))
    assert [row.args_kwargs["kwargs"] for row in DBTaskResult.objects.all()] == [{"night": "2026-06-10"}]
    assert search_put_together.call("2026-06-10") == "Done, 2026-06-10."
    put_in_putting_together(night + timedelta(hours=26))
    assert DBTaskResult.objects.count() == 1


def test_the_best_are_first_whether_few_or_many_are_found():
    """Whole words, then beginnings, then anywhere: the order that the design of the search gives."""
    inside, begins, whole = (CustomerFactory(name=name) for name in ("Ankerholt", "Holtby", "Holt"))
    assert search("holt").customers == [whole, begins, inside]
    many = CustomerFactory.create_batch(MOST_FOUND, name="Unterholt")
    assert search("holt").customers == [whole, begins, *reversed(many)][:MOST_FOUND]


def test_a_word_that_is_nowhere_is_looked_for_beside_no_car(job, django_assert_max_num_queries):
    with django_assert_max_num_queries(120) as asked:
        assert search("soren xylophones").nothing
    assert not [one["sql"] for one in asked.captured_queries if "garage_vehicle" in one["sql"]]
