"""Which engines are like one another, to the last bit of a tolerance."""

import pytest
from django.http import QueryDict

from garage.models import Engine
from jobs.learning.forms import LikenessForm
from jobs.likeness.like import Likeness, Tolerances, displacement_cc, likeness_of
from tests.factories import VehicleFactory

pytestmark = pytest.mark.django_db


def engine(**known) -> Engine:
    return VehicleFactory(**{f"engine__{name}": value for name, value in known.items()}).engine


def found(like: Likeness) -> list[Engine]:
    return list(Engine.objects.annotate(**like.annotations()).filter(like.of_engine()).order_by("pk"))


def test_displacement_is_the_volume_of_all_cylinders():
    """By hand: four cylinders of 80 mm bore and 79.58 mm stroke are 1,600 cc (π/4 · 8² · 7.958 · 4 = 1600.05 cm³)."""
    assert displacement_cc(engine(cylinders=4, bore_mm=80, stroke_mm=79.58)) == pytest.approx(1600.05, abs=0.01)


@pytest.mark.parametrize("missing", ["cylinders", "bore_mm", "stroke_mm"])
def test_without_one_of_its_figures_there_is_no_displacement(missing):
    known = {"cylinders": 4, "bore_mm": 80, "stroke_mm": 80, missing: None}
    assert displacement_cc(engine(**known)) is None


def test_a_family_is_found_however_its_letters_are_written():
    same = engine(family="Alder B")
    engine(family="Alder B2")
    assert found(Likeness(family="alder b")) == [same]


def test_what_lies_on_a_tolerance_is_like_and_what_lies_beyond_is_not():
    at, within = engine(compression_ratio=9.3, fuel_ron=98), engine(compression_ratio=8.3, fuel_ron=92)
    engine(compression_ratio=9.4, fuel_ron=95)
    engine(compression_ratio=8.8, fuel_ron=98.5)
    assert found(Likeness(compression=8.8, fuel_ron=95)) == [at, within]


def test_the_tolerances_are_those_that_were_asked():
    near = engine(compression_ratio=9.0)
    engine(compression_ratio=9.3)
    assert found(Likeness(compression=8.8, tolerances=Tolerances(compression=0.2))) == [near]


def test_displacement_is_compared_in_the_database_as_it_is_reckoned_here():
    """By hand, 76 mm by 82 mm by 4 is 1,488 cc; 80 mm by 82 mm is 1,649 cc, 10.8 % more; 79 mm 1,608 cc, 8.1 % more."""
    own = engine(cylinders=4, bore_mm=76, stroke_mm=82)
    near = engine(cylinders=4, bore_mm=79, stroke_mm=82)
    engine(cylinders=4, bore_mm=80, stroke_mm=82)
    engine(cylinders=4, bore_mm=76)
    assert found(Likeness(displacement_cc=displacement_cc(own))) == [own, near]


def test_an_engine_not_known_in_what_is_asked_is_left_out():
    engine(family="Alder B")
    assert found(Likeness(family="Alder B", fuel_ron=95)) == []


def test_what_is_known_of_an_engine_is_what_its_like_is_asked_for():
    like = likeness_of(engine(family="Alder B", cylinders=4, fuel_ron=95))
    assert like.words() == ["family Alder B", "4 cylinders", "fuel 95 ± 3 RON"]
    assert like.asks_for_an_engine


def test_of_an_engine_of_which_nothing_is_known_nothing_is_like():
    assert not likeness_of(engine()).asks_for_an_engine


@pytest.mark.parametrize(
    "known",
    [
        {"family": "Alder & Sons B", "cylinders": 4, "compression_ratio": 8.8, "fuel_ron": 95.0},
        {"cylinders": 2, "strokes": 2, "boosted": True},
    ],
)
def test_an_address_asks_the_form_for_the_same_engines(known):
    like = likeness_of(engine(**known))
    form = LikenessForm(QueryDict(like.query()), vacuum_unit="kPa")
    assert form.likeness() == like
