"""The whole of the trade by one pair of hands: an owner alone, from an empty workshop to the customer's sheet.

Nobody else has an account: no second check waits for a colleague who is not there.
"""

from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect

from garage.people.models import Staff
from garage.people.set_up import one_time_code
from garage.units.models import FittedUnit
from jobs.maps.queries import version_in_car
from jobs.models import Confirmation, Job, SignOff
from jobs.roadtest.models import BeforeLeaving, RoadRun
from tests.browser import test_thread as thread
from tests.browser.sound_car import answer
from tests.browser.test_thread import BASE_DEG, FIRST_CURVE, OWNER, REGISTRATION, bench
from tests.browser.trade import Bench

__all__ = ["bench"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What is read the second time: another figure than the first, as a fresh look gives.
READ_AGAIN = {
    "Free play left between shaft and rotor, advance locked": {"measure": 0.3},
    "Rotor tip over cap terminal at the lowest advance": {"measure": 1.3},
    "Feed, earth, trigger, coil and polarity traced from end to end": {"text": "every wire ends as drawn"},
    "Spark on every cylinder, cranking, at the earthed test gap": {"choice": "all, steady"},
}


# What this kind of job needs to know of the car; its sheet finds the earth polarity, the rest may stay unknown.
FOR_A_MAP = {
    name: thread.CAR[name]
    for name in (
        "system_volts", "firing_order", "idle_rpm", "red_line_rpm", "trigger", "rotation", "base_timing_deg",
    )
}  # fmt: skip


class Clock:
    """The workshop computer's clock, which a test sets forward while somebody rests."""

    def __init__(self) -> None:
        self.ahead = timedelta()

    def now(self) -> datetime:
        return datetime.now(UTC) + self.ahead

    def rest(self, minutes: int = 21) -> None:
        self.ahead += timedelta(minutes=minutes)


@pytest.fixture
def clock(monkeypatch) -> Clock:
    made = Clock()
    monkeypatch.setattr("django.utils.timezone.now", made.now)
    return made


def test_one_person_from_the_code_on_the_console_to_the_customers_sheet(bench, clock):
    set_up_alone(bench)
    thread.describe_the_unit(bench)
    book(bench)
    fit(bench, clock)
    prove_the_base_timing(bench)
    map_the_engine(bench)
    drive_alone(bench)
    hand_over_alone(bench, clock)

    printed = bench.text_of_paper("Customer's sheet no. 1")
    assert REGISTRATION in printed
    assert "same person" in printed
    assert "Strobe read again" in printed
    assert Staff.objects.count() == 1
    assert {one.by for one in Confirmation.objects.all()} == set(Staff.objects.all())
    assert SignOff.objects.get().own_pause_s >= 1200


def set_up_alone(bench: Bench) -> None:
    bench.go("/")
    bench.fill(
        "Set up workshop", code=one_time_code(), workshop_name="Saddle Yard Workshop", **OWNER,
        password_again=OWNER["password"],
    )  # fmt: skip
    bench.go("/workshop/")
    bench.fill("Save", works_alone=True)
    bench.go("/check-lists/")
    bench.tap("Add these lists")


def book(bench: Bench) -> None:
    """Four fields make car and customer; what the map needs to know of the car is asked on the page that follows."""
    bench.go("/jobs/book/")
    bench.fill(
        "Book car", registration=REGISTRATION.lower(), maker="Lorimer", model="1100 Tourer", phone="01632 960282",
        kind="unit and map", odometer=52288,
    )  # fmt: skip
    proposed = bench.page.locator("[name=unit] option:checked")
    expect(proposed).to_have_text(str(FittedUnit.objects.get()))  # the only one on the shelf
    bench.fill("Save and go to fitting", **FOR_A_MAP)


def fit(bench: Bench, clock: Clock) -> None:
    """The one list made for this kind of job is there already."""
    bench.fill_sheet(answer, lambda: look_again(bench, clock), alone=True)
    bench.onward("Go to base timing")


def prove_the_base_timing(bench: Bench) -> None:
    bench.fill("Read strobe", base_deg=BASE_DEG)
    thread.add_several(bench, "850 8\n1800 7.5\n900 8\n1850 8")
    bench.reads("Base timing proven")
    bench.fill("Save and go to map", within="#clamp", change_deg=0, mark_painted=True)


def map_the_engine(bench: Bench) -> None:
    """Drawn, released, keyed in, and read back in one row; the ticks of the key-in sheet only keep one's place."""
    thread.draw_the_map(bench)
    thread.release(bench, 1)
    # The unit shows what the sheet says: nothing was lost at the switch.
    thread.read_back(bench, thread.key_in(bench), "Save and go to road test")
    assert version_in_car(Job.objects.get()).number == 1


def look_again(bench: Bench, clock: Clock) -> None:
    """A pause, and the item that waits is read again on a page that does not show the first figure."""
    clock.rest()
    here = bench.page.url.partition("#")[0]
    bench.page.locator("[data-dock]").get_by_role("link", name="I am alone: read again").tap()
    heading = bench.page.locator("#item-title")
    expect(heading).to_be_visible()
    bench.fill("Save", **READ_AGAIN[heading.inner_text()])
    if bench.page.url.partition("#")[0] != here:
        bench.go(here)


def drive_alone(bench: Bench) -> None:
    form = bench.form("Start run")
    expect(form.locator("[name=driver] option:checked")).to_have_text(OWNER["owner_name"])
    expect(form.locator("[name=writer] option:checked")).to_have_text("nobody: driver is alone")
    bench.fill("Start run", route="Yard, ring road, the hill, back", fuel_ron=95, looked_at=list(BeforeLeaving))
    bench.tap("Nothing found: end run and go to handover")
    assert RoadRun.objects.get().summary == "Nothing found."


def hand_over_alone(bench: Bench, clock: Clock) -> None:
    bench.tap("Start final check")
    wanted = {rpm: BASE_DEG + degrees for rpm, degrees in FIRST_CURVE.items()}
    pipe_off = [f"{rpm} {wanted[rpm]}" for rpm in (1000, 1500, 2000, 2500, 3000, 4000)]
    # Pipe on, at two vacuums: half of the ramp from 14 to 40 kPa gives 6 of its 12 degrees, all of it 12.
    pipe_on = [f"2000 {wanted[2000] + 6} 27", f"2500 {wanted[2500] + 12} 40"]
    thread.add_several(bench, "\n".join([*pipe_off, "1050 8.5", "3950 28.5", *pipe_on]))
    bench.reads("pass")
    bench.tap("Second check")
    clock.rest()
    # The page asks for two speeds of the map: 1000 and 3000 rpm.
    bench.fill(
        "Sign off and issue customer’s sheet", first_rpm=1000, first_deg=wanted[1000], second_rpm=3000,
        second_deg=wanted[3000] - 0.5, remarks="Clamp, mark, leads and read-back looked at.",
    )  # fmt: skip
    bench.reads("signed off", "same person")
