"""The timing tape: its marks measured in the PDF itself, and numbers that run the right way."""

import math
from datetime import UTC, datetime
from io import BytesIO

import pypdf
import pytest

from jobs.strobe.tape import LONGEST_STRIP, set_tape
from tests.drawn import strokes
from tests.factories import JobFactory
from tests.signed_in import client_of
from timing.crank import CrankError
from timing.sheets.tape import LAP_MM, Place, Tape, Turning


@pytest.fixture
def at_the_car(mechanic):
    return client_of(mechanic)


pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 14, 12, tzinfo=UTC)
WHEEL = {"turning": "clockwise", "place": "wheel", "before_deg": 60, "after_deg": 20, "every_deg": 1}
PAPER = {"width_mm": 12, "thickness_mm": 0.1}


def tape(diameter_mm=150.0, **asked):
    plain = {
        "before_deg": 60, "after_deg": 20, "every_deg": 1, "turning": Turning.CLOCKWISE, "place": Place.WHEEL,
        "thickness_mm": 0.1,
    }  # fmt: skip
    return Tape(diameter_mm=diameter_mm, **{**plain, **asked})


def marks_of(made):
    """The marks of each strip as they hang in the PDF, by where they hang: page and height."""
    rows = {}
    for line in strokes(made):
        # a mark is upright, shorter than the strip is wide, and no end of the check line
        if line.is_upright and 2 < line.length < 11.9 and abs(line.length - 5) > 0.01:
            rows.setdefault((line.page, round(min(line.y1, line.y2), 1)), []).append(line.x1)
    return [sorted(row) for row in rows.values()]


@pytest.mark.parametrize("diameter", [104.0, 150.0, 165.0])
def test_each_mark_in_the_pdf_lies_within_a_tenth_of_a_millimetre_of_its_arc(diameter):
    """The arc of a circle, computed here: pi (d + t) / 360 a degree, t for paper that bends about its middle."""
    (found,) = marks_of(set_tape(JobFactory(), tape(diameter), 12.0, NOON))
    degree = math.pi * (diameter + 0.1) / 360
    assert len(found) == 81
    for count, place in enumerate(found):
        assert place - found[0] == pytest.approx(count * degree, abs=0.1)
    # Nor does an error add up: the whole is as exact as a part.
    assert found[-1] - found[0] == pytest.approx(80 * degree, abs=0.01)


def test_the_check_line_is_100_mm_long():
    lying = [line for line in strokes(set_tape(JobFactory(), tape(), 12.0, NOON)) if not line.is_upright]
    assert any(line.length == pytest.approx(100, abs=0.05) for line in lying)


def test_a_tape_longer_than_the_paper_is_joined_without_losing_a_degree():
    wide = tape(400.0, before_deg=100, after_deg=80)
    rows = marks_of(set_tape(JobFactory(), wide, 12.0, NOON))
    strips = wide.strips(LONGEST_STRIP)
    assert [len(row) for row in rows] == [len(strip.marks) for strip in strips]
    degree = math.pi * 400.1 / 360
    told = []
    for strip, row in zip(strips, rows, strict=True):
        assert strip.length_mm <= LONGEST_STRIP
        told += [mark.degrees for mark in strip.marks]
        # the first mark of a strip that is glued on lies one degree from its cut edge
        if strip.number > 1:
            assert strip.marks[0].place_mm == pytest.approx(degree, abs=0.01)
        if strip.join_mm is not None:
            assert strip.length_mm - strip.join_mm == LAP_MM
            assert row[-1] - row[0] == pytest.approx((len(row) - 1) * degree, abs=0.1)
    assert told == list(range(-80, 101))


def test_no_number_is_cut_through_where_strips_are_joined():
    joins = [strip.marks[-1].degrees for strip in tape(400.0, before_deg=170).strips(LONGEST_STRIP)[:-1]]
    assert joins
    assert all(at % 10 == 5 for at in joins)


@pytest.mark.parametrize(
    ("turning", "place", "before_lies"),
    [
        ("clockwise", "wheel", "right"),
        ("anticlockwise", "wheel", "left"),
        ("clockwise", "cover", "left"),
        ("anticlockwise", "cover", "right"),
    ],
)
def test_the_numbers_before_top_dead_centre_come_first(turning, place, before_lies):
    """By turning a wheel in thought, seen from the front with the pointer on top.

    Clockwise, its rim moves to the right there. The spark comes 10 degrees early when the wheel has 10 degrees to go:
    the mark at the pointer lies to the right of the wheel's 0, and the line of a wheel stands left of a cover's 0.
    """
    moves = 1 if turning == "clockwise" else -1
    early = moves * 10 if place == "wheel" else -moves * 10
    assert before_lies == ("right" if early > 0 else "left")
    (strip,) = tape(turning=Turning(turning), place=Place(place)).strips(LONGEST_STRIP)
    at = {mark.degrees: mark.place_mm for mark in strip.marks}
    assert (at[10] > at[0]) is (before_lies == "right")
    assert (at[-10] < at[0]) is (before_lies == "right")


@pytest.mark.parametrize("every", [1, 2, 5, 10])
def test_marks_stand_as_often_as_asked_and_every_tenth_has_its_number(every):
    (strip,) = tape(every_deg=every).strips(LONGEST_STRIP)
    assert [mark.degrees for mark in strip.marks] == list(range(-20, 61, every))
    assert {mark.rank for mark in strip.marks if mark.degrees % 10 == 0} == {0, 10}


def test_a_tape_longer_than_a_turn_or_with_other_steps_is_refused():
    with pytest.raises(CrankError, match="up to 360 degrees, not 380"):
        tape(before_deg=200, after_deg=180)
    with pytest.raises(CrankError, match="every 1, 2, 5 or 10 degrees, not 3"):
        tape(every_deg=3)


def test_the_page_offers_the_wheel_of_the_car_s_record_and_gives_the_sheet_with_its_cautions(at_the_car):
    job = JobFactory(vehicle__engine__pulley_diameter_mm=150.0)
    address = f"/jobs/{job.code}/base-timing/tape/"
    assert 'value="150"' in at_the_car.get(address).content.decode()
    answer = at_the_car.get(address, {**WHEEL, **PAPER, "diameter_mm": "150"})
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in (job.vehicle.registration, "100 mm", "100 %", "this way →", "Engine off", "loose clothing", "belt"):
        assert said in text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Give the diameter or the circumference."),
        ({"diameter_mm": "15"}, "50"),
        ({"diameter_mm": "150", "circumference_mm": "400"}, "400 mm round is 127.3 mm across, not 150 mm"),
        ({"diameter_mm": "50", "every_deg": "1", "turning": ""}, "Choose"),
    ],
)
def test_a_wheel_that_cannot_be_is_asked_again(at_the_car, typed, said):
    answer = at_the_car.get(f"/jobs/{JobFactory().code}/base-timing/tape/", {**WHEEL, **PAPER, **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_the_circumference_stands_for_the_diameter(at_the_car):
    asked = {**WHEEL, **PAPER, "circumference_mm": "500"}
    answer = at_the_car.get(f"/jobs/{JobFactory().code}/base-timing/tape/", asked)
    (found,) = marks_of(answer.content)
    assert found[1] - found[0] == pytest.approx((500 + math.pi * 0.1) / 360, abs=0.005)
