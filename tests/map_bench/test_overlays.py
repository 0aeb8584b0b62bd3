"""What is laid under the curve, and from where it is counted."""

import pytest

from jobs.bench import overlays as layers
from tests.jobs_factories import MapVersionFactory
from timing.surface import TotalAdvance
from timing.vacuum import VacuumRamp

pytestmark = pytest.mark.django_db


def test_strobe_readings_lie_on_the_curve_where_all_is_well(monkeypatch, draft):
    """By hand: base 8, 18 degrees at 3000 rpm, and the strobe shows 26: counted from base that is 18."""
    monkeypatch.setattr(layers.strobe, "latest_readings", lambda job: [(3000.0, None, 26.0)])
    laid = layers.laid(draft.job, draft, draft.base_deg, draft.ignition_map().total_advance(), ["readings"])
    assert laid.readings == [(3000.0, 18.0)]


def test_what_vacuum_added_to_a_reading_is_taken_off_it(monkeypatch, draft):
    """By hand: the ramp gives half of its 12 degrees at 25 kPa, so that 8 + 18 + 6 = 32 lies on the curve."""
    monkeypatch.setattr(layers.strobe, "latest_readings", lambda job: [(3000.0, 25.0, 32.0)])
    surface = TotalAdvance(8.0, draft.ignition_map().curve, VacuumRamp(10, 40, 12))
    laid = layers.laid(draft.job, draft, draft.base_deg, surface, ["readings"])
    assert laid.readings == [(3000.0, 18.0)]


def test_another_version_brings_its_own_base_along(draft):
    """By hand: 10 degrees on a base of 12 is 14 counted from a base of 8."""
    MapVersionFactory(
        job=draft.job, number=2, unit_revision=draft.unit_revision, base_deg=12.0, curve=[[800, 0], [3000, 10]]
    )
    laid = layers.laid(draft.job, draft, 8.0, draft.ignition_map().total_advance(), ["version-2"])
    assert laid.earlier == [("version 2", [(800, 4.0), (3000, 14.0)])]
