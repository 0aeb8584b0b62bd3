"""The review as a whole: a sound map, the order of findings, missing figures, and facts that cannot be."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.review.reviewed import COIL, ENGINE, MAP, UNIT, changed, coil, engine, findings, reads_as_prose, says
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.review import (
    CoilFacts,
    EngineFacts,
    Finding,
    Kind,
    PinkingNote,
    ReviewError,
    ReviewLimits,
    RotorFacts,
    review,
)
from timing.review.finding import in_order
from timing.vacuum import VacuumRamp

# What a refusal calls two measures of the rotor.
IN_LINE = "the advance at which rotor and terminal are in line"
AT_EDGE = "the rotor tip at the edge"


def test_a_sound_map_in_a_well_known_car_has_nothing_found():
    assert review(MAP, ENGINE, UNIT, COIL, altitude_m=300) == []


def test_what_is_asked_for_may_be_named():
    assert review(map=MAP, engine=ENGINE, unit_type=UNIT, coil=COIL, altitude_m=300) == []


class TestMissing:
    @pytest.mark.parametrize(
        ("engine_", "code", "words"),
        [
            ({"idle_rpm": None}, "missing-idle-speed", "the idle speed"),
            ({"red_line_rpm": None}, "missing-red-line", "the red line"),
            ({"fuel_ron": None}, "missing-octane", "the octane of the fuel"),
            ({"boosted": None}, "missing-boost", "whether the engine is boosted"),
            ({"cylinders": None}, "missing-cylinders", "the number of cylinders"),
            ({"trigger_deg": None}, "missing-trigger-position", "where the trigger's edge comes"),
            (
                {"rotor": None},
                "missing-rotor",
                "the rotor's radius, the rotor tip's width, the cap terminal's width and the",
            ),
            ({"rotor": RotorFacts(20, None, 4, 0.7)}, "missing-rotor", "Not recorded: the rotor tip's width. "),
        ],
    )
    def test_a_missing_figure_of_the_engine_is_named(self, engine_, code, words):
        found_ = findings(engine=engine(**engine_))
        assert found_[code].kind == "note"
        assert words in found_[code].sentence
        assert [other for other in found_ if other != code] == []

    def test_the_vacuum_at_idle_is_missing_only_where_the_vacuum_part_acts_at_idle(self):
        acts = changed(vacuum=VacuumRamp(15, 45, 6))
        assert "missing-idle-vacuum" in findings(acts, engine(idle_vacuum_kpa=None))
        assert "missing-idle-vacuum" not in findings(engine=engine(idle_vacuum_kpa=None))
        assert "missing-idle-vacuum" not in findings(changed(vacuum=None), engine(idle_vacuum_kpa=None))

    def test_the_tachometer_is_missing_only_with_repeated_sparks(self):
        assert "missing-tachometer" in findings(changed(repeated_sparks=True), engine(tachometer=None))
        assert "missing-tachometer" not in findings(engine=engine(tachometer=None))

    def test_the_height_is_missing_only_with_a_vacuum_part(self):
        assert "missing-altitude" in findings(altitude_m=None)
        assert "missing-altitude" not in findings(changed(vacuum=None), altitude_m=None)

    @pytest.mark.parametrize(
        ("facts", "codes"),
        [
            (None, {"missing-coil"}),
            (CoilFacts(), {"missing-coil"}),
            (coil(cranking_v=None), {"missing-cranking-voltage"}),
            (coil(heat_limit_w=None), {"missing-coil-heat"}),
        ],
    )
    def test_a_missing_figure_of_the_coil_is_named(self, facts, codes):
        assert set(findings(coil=facts)) == codes

    def test_the_heat_that_nobody_can_judge_is_said(self):
        assert says(findings(coil=coil(heat_limit_w=None))["missing-coil-heat"], "8.4 W", "5800 rpm")

    def test_a_missing_dwell_and_a_missing_top_speed_are_named(self):
        assert "missing-dwell" in findings(changed(dwell_ms=None))
        assert "missing-top-speed" in findings(changed(rev_limit_rpm=None), engine(red_line_rpm=None))

    def test_a_figure_that_several_checks_lack_is_one_note_with_all_questions(self):
        found_ = findings(changed(vacuum=VacuumRamp(15, 45, 6)), engine(idle_rpm=None))
        sentence = found_["missing-idle-speed"].sentence
        assert sentence == (
            "Not recorded: the idle speed. Cannot check without it whether the advance makes the engine hunt at idle."
            " Nor whether the vacuum part is half-way on at idle."
        )

    def test_nothing_known_is_an_answer_too(self):
        found_ = {found.code: found for found in review(MAP)}
        assert all(found.kind == "note" for found in found_.values())
        assert set(found_) == {
            "missing-altitude",
            "missing-boost",
            "missing-coil",
            "missing-cylinders",
            "missing-idle-speed",
            "missing-octane",
            "missing-red-line",
            "missing-rotor",
            "missing-trigger-position",
            "missing-unit-type",
        }


class TestOrder:
    def test_stops_come_first_then_cautions_then_notes_each_by_speed(self):
        listed = [
            Finding(Kind.NOTE, "note", "", ""),
            Finding(Kind.CAUTION, "no-speed", "", ""),
            Finding(Kind.CAUTION, "fast", "", "", rpm=(3000, 4000)),
            Finding(Kind.CAUTION, "slow", "", "", rpm=(500, 900)),
            Finding(Kind.STOP, "stop", "", "", rpm=(6000, 7000)),
        ]
        assert [found.code for found in in_order(listed)] == ["stop", "slow", "fast", "no-speed", "note"]

    @given(
        st.lists(st.tuples(st.floats(0, 60), st.floats(1, 2000)), min_size=1, max_size=14),
        st.floats(-20, 40),
        st.none() | st.floats(300, 9000),
        st.none() | st.floats(0.2, 12),
        st.booleans(),
    )
    def test_any_map_is_reviewed_with_whole_sentences_in_order(self, nodes, base, rev_limit, dwell, known):
        rpm = 300 + np.cumsum([step for _, step in nodes])
        map_ = IgnitionMap(
            base,
            AdvanceCurve(rpm, [degrees for degrees, _ in nodes]),
            VacuumRamp(10, 75, 20, 900),
            dwell_ms=dwell,
            rev_limit_rpm=rev_limit,
            repeated_sparks=True,
        )
        listed = review(
            map_, ENGINE if known else None, UNIT if known else None, COIL if known else None, altitude_m=500
        )
        weights = [["stop", "caution", "note"].index(found.kind) for found in listed]
        assert weights == sorted(weights)
        for found in listed:
            reads_as_prose(found)


class TestFacts:
    def test_the_usual_limits_are_those_of_the_handbook(self):
        usual = ReviewLimits()
        assert (usual.full_load_deg, usual.anywhere_deg, usual.slope_deg, usual.step_deg) == (38, 55, 25, 6), (
            "handbook 4"
        )
        assert (usual.cranking_rpm, usual.cranking_deg, usual.rising_from_rpm) == (500, 12, 1500), "handbook 4"
        assert (usual.lowest_manifold_kpa, usual.least_energy_mj, usual.ordinary_energy_mj) == (30, 15, 30), "3 and 6"
        assert (usual.rotor_overlap_mm, usual.rotor_ratio) == (1, 5), "handbook 7"
        assert usual.over_red_line_percent == 5, "issue 10.5"
        assert (usual.least_deg, usual.boost_retard_deg, usual.vacuum_slope_deg) == (15, 5, 2), "common practice"
        assert (usual.spark_ms, usual.unused_deg, usual.deviation_deg, usual.rounding_deg) == (1, 1, 1, 0.1), (
            "common practice, no source"
        )

    @pytest.mark.parametrize("altitude_m", [-5_000, 11_000])
    def test_the_ends_of_the_standard_atmosphere_s_lowest_layer_are_heights(self, altitude_m):
        # US Standard Atmosphere 1976: the lowest layer ends at 11 km
        assert "missing-altitude" not in {found.code for found in review(MAP, altitude_m=altitude_m)}

    @pytest.mark.parametrize(
        ("make", "words"),
        [
            (lambda: ReviewLimits(full_load_deg=-1), "the limit 'full load deg' must be 0 or more, not -1"),
            (lambda: ReviewLimits(slope_deg=math.nan), "the limit 'slope deg' must be a finite number"),
            (lambda: EngineFacts(cylinders=0), "the number of cylinders must be 1 or more, not 0"),
            (lambda: EngineFacts(strokes=3), "an engine has 2 or 4 strokes, not 3"),
            (lambda: EngineFacts(idle_rpm=0), "the idle speed must be above 0 rpm, not 0"),
            (lambda: EngineFacts(red_line_rpm=0), "the red line must be above 0 rpm, not 0"),
            (lambda: EngineFacts(idle_vacuum_kpa=0), "the vacuum at idle must be above 0 kPa, not 0"),
            (lambda: EngineFacts(fuel_ron=0), "the fuel's octane must be above 0 RON, not 0"),
            (lambda: EngineFacts(cylinders=6, intervals_deg=(0, 240)), "an interval between sparks must be above 0"),
            (lambda: EngineFacts(vacuum_port="carburettor"), "a vacuum port is one of manifold, throttle, not 'carb"),
            (lambda: coil(cold_ohm=0), "the primary's resistance as measured must be above 0 ohm, not 0"),
            (lambda: coil(most_current_a=0), "the current that coil and unit bear must be above 0 A, not 0"),
            (lambda: PinkingNote(0, 3, 30), "the speed of a note must be above 0 rpm, not 0"),
            (lambda: PinkingNote(2600, "a", 30), "the vacuum of a note must be a number"),
            (lambda: PinkingNote(2600, 3, math.nan), "the advance of a note must be a finite number"),
            (lambda: PinkingNote(2600, 3, 30, 0), "the suggested retard must be above 0 degrees, not 0"),
            (lambda: EngineFacts(trigger_deg=math.inf), "the trigger's position must be a finite number"),
            (lambda: EngineFacts(full_load_limit_deg="a"), "the engine's limit at full load must be a number"),
            (lambda: EngineFacts(light_load_limit_deg="a"), "the engine's limit at light load must be a number"),
            (
                lambda: EngineFacts(tachometer="steam"),
                "a tachometer is one of none, coil current, coil voltage, mechanical",
            ),
            (lambda: RotorFacts(tip_radius_mm=0), "the rotor's radius must be above 0 mm, not 0"),
            (lambda: RotorFacts(tip_width_mm=0), "the rotor tip's width must be above 0 mm, not 0"),
            (lambda: RotorFacts(post_width_mm=0), "the cap terminal's width must be above 0 mm, not 0"),
            (lambda: RotorFacts(radial_gap_mm=0), "the rotor's air gap must be above 0 mm, not 0"),
            (lambda: RotorFacts(aligned_at_deg="a"), f"{IN_LINE} must be a number"),
            (lambda: RotorFacts(terminals=1), "the number of cap terminals must be 2 or more, not 1"),
            (lambda: CoilFacts(cranking_v=0), "the voltage while cranking must be above 0 V, not 0"),
            (lambda: CoilFacts(heat_limit_w=0), "the heat the coil bears must be above 0 W, not 0"),
            (lambda: CoilFacts(spark_ms=0), "the time of a spark must be above 0 ms, not 0"),
            (lambda: EngineFacts(cylinders=25), "the number of cylinders must be 24 or less, not 25"),
            (
                lambda: EngineFacts(cylinders=6, intervals_deg=(121, 120)),
                "intervals of 121, 120 degrees do not make up",
            ),
            (lambda: RotorFacts(terminals=25), "the number of cap terminals must be 24 or less, not 25"),
            (lambda: RotorFacts(aligned_at_deg=91), f"{IN_LINE} must be 90 degrees or less, not 91"),
            (lambda: RotorFacts(edge_deg=361), "the trigger's edge must be 360 degrees or less, not 361"),
            (lambda: RotorFacts(edge_deg=-361), "the trigger's edge must be -360 degrees or more, not -361"),
            (lambda: RotorFacts(tip_at_edge_dist_deg=181), f"{AT_EDGE} must be 180 distributor degrees or less, not"),
            (lambda: RotorFacts(tip_at_edge_dist_deg=-181), f"{AT_EDGE} must be -180 distributor degrees or more"),
            (lambda: RotorFacts(aligned_at_deg=-61), f"{IN_LINE} must be -60 degrees or more, not -61"),
            (lambda: coil(cranking_v=1.0), "a supply of 1 V does not exceed the 1 V that"),
            (
                lambda: review(MAP, None, None, None, altitude_m=11_001),
                "the workshop's altitude must be 11000 m or less, not 11001",
            ),
            (
                lambda: review(MAP, None, None, None, altitude_m=-5_001),
                "the workshop's altitude must be -5000 m or more, not -5001",
            ),
            (
                lambda: review(MAP, None, None, None, altitude_m=math.nan),
                "the workshop's altitude must be a finite number",
            ),
        ],
    )
    def test_facts_that_cannot_be_are_refused_with_the_figure(self, make, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            make()

    def test_a_review_error_is_a_value_error(self):
        assert issubclass(ReviewError, ValueError)

    def test_a_circuit_while_cranking_needs_its_voltage(self):
        assert CoilFacts().cranking is None
        assert coil(cranking_v=None).cranking is None
        assert COIL.cranking == COIL.primary.at_supply(10)
