"""The whole of the trade on one tablet: from the set-up page of an empty workshop to the customer's sheet."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

from garage.people.set_up import one_time_code
from garage.units.models import FittedUnit
from jobs.maps.queries import version_in_car
from jobs.models import Job
from jobs.roadtest.models import BeforeLeaving
from tests.browser.sound_car import answer
from tests.browser.trade import Bench

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
]

OWNER = {"owner_name": "Rowan Vale", "username": "rowan", "password": "brass-feeler-gauge"}
MECHANIC = {"name": "Ines Marlow", "username": "ines", "password": "strobe-at-dusk"}
OWNERS_PIN, MECHANICS_PIN = "4711", "2840"
REGISTRATION = "ZIQ 110"
BASE_DEG = 8.0

# What the factory's distributor does: the worked band of the engineering handbook, section 4, distributor degrees.
BAND = "400 0 0.5\n600 1 3\n900 5 7\n1500 8.5 10.5\n2250 11 13"
# Its middle in crank degrees, and the base timing on top: what a sound old distributor shows under the strobe.
OLD_ADVANCE = {850: 9, 1200: 12, 1600: 17.5, 2000: 21.5, 2600: 24.5, 3200: 27.5, 3800: 30}

CAR = {
    "year": 1971, "earth_polarity": "negative", "system_volts": 12, "charging": "alternator", "tachometer": "none",
    "cylinders": 4, "strokes": 4, "bore_mm": 69, "stroke_mm": 74, "compression_ratio": 8.8,
    "firing_order": "1-3-4-2", "fuel_ron": 95, "idle_rpm": 850, "red_line_rpm": 6000, "cap_terminals_even": "True",
    "rotation": "anticlockwise", "trigger": "contact breaker", "base_timing_deg": BASE_DEG, "factory_band": BAND,
    "capsule_start_kpa": 14, "capsule_full_kpa": 40, "capsule_full_deg": 6, "dwell_deg": 54,
    "rotor_tip_width_mm": 7, "rotor_tip_radius_mm": 20, "post_width_mm": 4, "rotor_gap_mm": 0.7,
    "primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": "False",
}  # fmt: skip

# What the map wants, counted from the base, at the eight speeds the unit has.
POINT = "timing at speed"  # what this unit calls a point of its curve
FIRST_CURVE = {500: 0, 1000: 0, 1500: 6, 2000: 11, 2500: 14, 3000: 17, 4000: 21, 5000: 24}
SECOND_CURVE = FIRST_CURVE | {2500: 12}


@pytest.fixture
def bench(live_server, chromium) -> Iterator[Bench]:
    """A tablet on its side, in nobody's hands yet; what the browser complains about fails the test."""
    context = chromium.new_context(
        base_url=live_server.url, viewport={"width": 1024, "height": 768}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    page.set_default_timeout(15_000)
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "response",
        lambda answer: complaints.append(f"{answer.status} {answer.url}") if answer.status >= 500 else None,
    )
    page.on("console", lambda said: complaints.append(said.text) if "Security Policy" in said.text else None)
    page.on("dialog", lambda dialog: dialog.accept())
    yield Bench(page)
    context.close()
    assert complaints == []


def test_one_car_from_an_empty_workshop_to_the_customers_sheet(bench):
    set_up_the_workshop(bench)
    describe_the_unit(bench)
    book_the_car(bench)
    take_the_car_in(bench)
    inspect(bench)
    fit_the_unit(bench)
    prove_the_base_timing(bench)
    map_the_engine(bench)
    drive_and_correct(bench)
    hand_the_car_over(bench)

    printed = bench.text_of_paper("Customer's sheet no. 1")
    assert REGISTRATION in printed
    assert "8° BTDC" in printed
    for rpm, degrees in SECOND_CURVE.items():
        assert re.search(rf"{POINT} {rpm}\s+{degrees}\b", printed), f"{degrees} degrees at {rpm} rpm"
    assert "vacuum advance" in printed
    assert "Pinks on the hill" in printed
    with bench.apart("after the PDF, once"):
        bench.tap("Go to after-care")
        ask_why(bench)


def set_up_the_workshop(bench: Bench) -> None:
    """Rowan sets the workshop up with the code on the console, takes Ines in, and puts the check-lists in.

    Both set the PIN by which they are picked on the shared tablet.
    """
    bench.go("/")
    bench.fill(
        "Set up workshop", code=one_time_code(), workshop_name="Saddle Yard Workshop", **OWNER,
        password_again=OWNER["password"],
    )  # fmt: skip
    bench.go("/set-up/")
    bench.reads("Sign in")  # it works once: whoever opens it again is led on
    bench.go("/workshop/")
    bench.tap("Add person")
    bench.fill("Add person", **MECHANIC, role="mechanic")
    bench.go("/account/")
    bench.fill("Set PIN", password=OWNER["password"], pin=OWNERS_PIN, pin_again=OWNERS_PIN)
    bench.go("/bench/first-pin/")
    bench.page.get_by_label(MECHANIC["name"], exact=True).check()
    bench.fill("Set PIN", password=MECHANIC["password"], pin=MECHANICS_PIN, pin_again=MECHANICS_PIN)
    bench.go("/check-lists/")
    bench.tap("Add these lists")
    bench.reads("Fitting, points as trigger", "Inspection on arrival")


def describe_the_unit(bench: Bench) -> None:
    """A small unit: eight fixed speeds, whole degrees, a vacuum ramp; and one of them with its serial number."""
    bench.go("/units/")
    bench.tap("Add unit type")
    bench.fill(
        "Save",
        name="Tern 8",
        nodes_kind="fixed",
        fixed_rpm=" ".join(str(rpm) for rpm in FIRST_CURVE),
        degree_low=0, degree_high=40, degree_step=1,
        counted_from="base",
        vacuum_kind="ramp",
        vacuum_unit="kPa",
        vacuum_start_low=0, vacuum_start_high=60, vacuum_start_step=1,
        vacuum_full_low=5, vacuum_full_high=80, vacuum_full_step=1,
        vacuum_degrees_low=0, vacuum_degrees_high=20, vacuum_degrees_step=1,
        rev_limit_rpm_low=3000, rev_limit_rpm_high=9000, rev_limit_rpm_step=250,
        rev_limit_manners=["hard"],
        words_node=POINT,
        words_vacuum_start="vacuum start",
        words_vacuum_full="vacuum full",
        words_vacuum_degrees="vacuum advance",
        words_rev_limit="rev limit",
    )  # fmt: skip
    bench.go("/units/")
    bench.tap("Add unit")
    bench.page.locator("select[name=revision]").select_option(index=1)
    bench.fill("Add unit", serial_number="T4107")


def book_the_car(bench: Bench) -> None:
    """Rowan books the car that stands in the yard, and types in the data that its papers give."""
    bench.go("/jobs/book/")
    bench.fill(
        "Book car and enter its data",
        registration=REGISTRATION.lower(), maker="Lorimer", model="1100 Tourer", name="Constance Aubrey",
        phone="01632 960282", wanted="Starts hot without fuss.", complaint="Hesitates.", odometer=52288,
        unit=FittedUnit.objects.get().pk,
    )  # fmt: skip
    bench.fill("Save", **CAR)


def take_the_car_in(bench: Bench) -> None:
    """From here on Ines works: she is picked on the shared tablet by her PIN."""
    bench.hand_over_to(MECHANIC["name"], MECHANICS_PIN)
    bench.tap("Go to inspection")


def inspect(bench: Bench) -> None:
    readings = {
        "mark-proven": lambda: prove_the_mark(bench),
        "sweep-read": lambda: sweep_the_old_advance(bench),
        "compression-read": lambda: read_the_compression(bench),
    }
    bench.fill_sheet(answer, lambda: the_other_person(bench), readings, alone=True)
    bench.onward("Give verdict")
    bench.fill("Save and go to fitting", within="#verdict", fitness="ready")


def prove_the_mark(bench: Bench) -> None:
    bench.fill("Save", within="#mark", first_deg=-38.5, second_deg=39, mark_deg=0.5)


def sweep_the_old_advance(bench: Bench) -> None:
    unfold_several(bench)
    slip = "\n".join(f"{rpm} {degrees}" for rpm, degrees in OLD_ADVANCE.items())
    bench.fill("Add all", within="#sweep", readings=slip)


def read_the_compression(bench: Bench) -> None:
    gauges = {f"cylinder_{number}": kpa for number, kpa in enumerate((1140, 1125, 1150, 1120), start=1)}
    bench.fill("Save", within="#compression", **gauges)


def fit_the_unit(bench: Bench) -> None:
    bench.fill_sheet(answer, lambda: the_other_person(bench), alone=True)
    bench.onward("Go to base timing")


def prove_the_base_timing(bench: Bench) -> None:
    """The first session finds the spark late and says by how much to turn the body; the second proves it."""
    bench.fill("Read strobe", base_deg=BASE_DEG)
    add_several(bench, "850 5\n1800 5.5\n900 5\n1850 5")
    bench.reads("Turn the distributor body", "in the advancing direction")
    bench.tap("Read strobe again")
    add_several(bench, "850 8\n1800 7.5\n900 8\n1850 8")
    bench.reads("Base timing proven")
    bench.fill("Save and go to map", within="#clamp", change_deg=0, torque_nm=9, mark_painted=True)


def draw_the_map(bench: Bench) -> None:
    points = "\n".join(f"{rpm} {degrees}" for rpm, degrees in FIRST_CURVE.items())
    bench.fill(
        "Start version", points=points, base_deg=BASE_DEG, vacuum_start_kpa=14, vacuum_full_kpa=40, vacuum_full_deg=12
    )
    form = bench.page.locator("#map-form")
    expect(form.locator("[name=vacuum_scheme][value=ramp]")).to_be_checked()
    expect(form.locator("[name=vacuum_full_deg]")).to_have_value("12")
    # The red line of the car, in the unit's one manner, without a word of the mechanic.
    expect(form.locator("[name=rev_limit_rpm]")).to_have_value("6000")
    expect(form.locator("[name=rev_limit_manner]")).to_have_value("hard")


def map_the_engine_at_once(bench: Bench) -> None:
    """Drawn, released, keyed in and read back without a slip."""
    draw_the_map(bench)
    release(bench, 1)
    read_back(bench, key_in(bench))
    bench.reads("Clean. Version 1 is in the car.")
    bench.tap("Go to road test")


def map_the_engine(bench: Bench) -> None:
    draw_the_map(bench)
    release(bench, 1)
    # The unit shows one degree less at 2000 rpm than it was told: it was not stored.
    keyed_in = key_in(bench)
    read_back(bench, keyed_in | {f"{POINT} 2000": "10"})
    bench.reads("Not clean: the unit does not have version 1", f"{POINT} 2000")
    # The tick of the first reading is not kept: the ignition is switched off and on again.
    expect(bench.page.locator("[name=power_cycled]")).not_to_be_checked()
    read_back(bench, keyed_in, "Save and go to road test")
    assert version_in_car(Job.objects.get()).number == 1


def drive_and_correct(bench: Bench) -> None:
    """The proposal is taken in part. By hand: clear is 2, and 2600 rpm is 0.2 of the way from 2500 to 3000, so 1.6 and
    0.4 of score (handbook, section 9); in whole degrees, as the unit steps, 2 less and 1 less.
    """
    drive(bench, "Pinks on the hill.", pinking_at=2600)
    bench.reads("2500 rpm: 2° less", "3000 rpm: 1° less")
    bench.fill("Start next version", **{"decision-4": "accept", "decision-5": "refuse"})
    bench.reads("definite pinking at 2600 rpm")
    release(bench, 2)
    read_back(bench, key_in(bench), "Save and go to road test")
    assert version_in_car(Job.objects.get()).number == 2
    drive(bench, "No pinking, smooth away, starts hot.", button="End run and go to handover")


def ask_why(bench: Bench) -> None:
    """Why is it 12 and not 14 at 2500? One tap from the table of the curve, three from the surface."""
    bench.go(f"/jobs/{code()}/map/2/")
    bench.tap("Why 12° at 2500 rpm?")
    bench.reads("12°, 2° less than version 1", "Pinking (definite)", "on the hill, full throttle", "Rowan Vale")
    bench.go(f"/jobs/{code()}/map/2/")
    bench.page.get_by_text("Vacuum part and total advance").tap()
    cell = bench.page.locator('.chart-cell[data-link*="rpm=2500&"][data-row="0"]')
    cell.tap()
    bench.tap(cell.get_attribute("data-says"))
    bench.reads("20° = 8° base + 12° revs", "on the hill, full throttle")


def hand_the_car_over(bench: Bench) -> None:
    """Ines reads the strobe a last time; Rowan, who did none of it, looks, types his PIN and signs with the sheet."""
    check_finally(bench, SECOND_CURVE)
    bench.tap("Second check")
    bench.reads("Someone else signs off.")
    bench.fill(
        "Sign off and issue customer’s sheet", looked=True, remarks="Clamp, mark and routing looked at.", pin=OWNERS_PIN
    )
    bench.reads("signed off")
    expect(bench.page.get_by_role("banner")).to_contain_text(MECHANIC["name"])


def check_finally(bench: Bench, curve: dict[int, float]) -> dict[int, float]:
    """Read the strobe a last time, pipe off and on; what the map gives at each of its speeds."""
    if "/handover/" not in bench.page.url:
        bench.go(f"/jobs/{code()}/handover/")
    bench.tap("Start final check")
    wanted = {rpm: BASE_DEG + degrees for rpm, degrees in curve.items()}
    pipe_off = [f"{rpm} {wanted[rpm]}" for rpm in (1000, 1500, 2000, 2500, 3000, 4000)]
    # Pipe on, at two vacuums: half of the ramp from 14 to 40 kPa gives 6 of its 12 degrees, all of it 12.
    pipe_on = [f"{rpm} {wanted[rpm] + added} {kpa}" for rpm, kpa, added in ((2000, 27, 6), (2500, 40, 12))]
    add_several(bench, "\n".join([*pipe_off, "1050 8.5", "3950 28.5", *pipe_on]))
    bench.reads("pass")
    return wanted


def add_several(bench: Bench, readings: str) -> None:
    """What was written on a slip beside the engine, typed in one box."""
    unfold_several(bench)
    bench.fill("Add all", readings=readings)


def unfold_several(bench: Bench) -> None:
    """The fold stays open on this tablet once somebody has opened it."""
    fold = bench.page.locator("details[data-fold=several-readings]")
    if fold.get_attribute("open") is None:
        fold.get_by_text("Several readings at once").tap()


def code() -> str:
    return Job.objects.get().code


def the_other_person(bench: Bench) -> None:
    """Rowan, who did not enter it, looks at it and types his PIN beside the item; Ines stays at the bench."""
    before = bench.dock.inner_text()
    bench.dock.get_by_label("PIN").fill(OWNERS_PIN)
    bench.dock.get_by_role("button", name="Second check").tap()
    expect(bench.dock).not_to_have_text(before, use_inner_text=True)
    expect(bench.dock).not_to_contain_text("Wrong PIN")


def release(bench: Bench, number: int) -> None:
    bench.tap(f"Release version {number}")  # on the bench: what is typed there is saved first
    bench.tap(f"Release version {number}")
    bench.reads(f"Key in version {number}")


def key_in(bench: Bench) -> dict[str, str]:
    """What the sheet says, entry by entry, in the words of the unit."""
    entries = bench.page.locator("[data-key-in] li").all()
    return {entry.locator(".key-in-words").inner_text(): entry.locator("strong").inner_text() for entry in entries}


def read_back(bench: Bench, shown: dict[str, str], button: str = "Save") -> None:
    """What the unit shows, typed in one row below the entries after switching off and on."""
    bench.fill(button, power_cycled=True, in_a_row=" ".join(shown.values()))


def drive(bench: Bench, summary: str, pinking_at: int | None = None, button: str = "End run") -> None:
    """Rowan drives, Ines writes."""
    form = bench.form("Start run")
    form.locator("[name=driver]").select_option(label=OWNER["owner_name"])
    form.locator("[name=writer]").select_option(label=MECHANIC["name"])
    bench.fill("Start run", route="Yard, ring road, the hill, back", fuel_ron=95, looked_at=list(BeforeLeaving))
    if pinking_at:
        bench.note("Pinking, definite", rpm=pinking_at, vacuum_kpa=4, words="on the hill, full throttle")
        bench.reads(f"Definite pinking at {pinking_at} rpm")
    bench.fill(button, summary=summary)
