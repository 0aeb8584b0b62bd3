"""The dwell budget at measured voltages: at rest, while cranking and charging."""

import pytest

from timing.coil import CRANKING_RPM, CoilError, Primary, Voltages, budgets_by_supply, dwell_budget
from timing.errors import TimingError

# The handbook's coil B with its ballast, and by-passed.
COIL_B = Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
SPEEDS = [300, 1000, 6000]


def test_each_measured_voltage_has_its_budget_from_cranking_to_charging():
    found = budgets_by_supply(COIL_B, 4, 5.0, 1.0, rpm=SPEEDS, voltages=Voltages(9.0, 12.6, 14.2))
    assert [(line.name, line.volts) for line in found.lines] == [("cranking", 9), ("resting", 12.6), ("charging", 14.2)]
    for line in found.lines[1:]:
        alone = dwell_budget(COIL_B.at_supply(line.volts), 4, 5.0, 1.0, rpm=found.rpm)
        assert line.budget.energy_mj.tolist() == alone.energy_mj.tolist()


def test_the_budget_while_cranking_ends_where_a_starter_turns_no_faster():
    # common practice, no source: about 400 rpm
    found = budgets_by_supply(COIL_B, 4, 5.0, 1.0, rpm=SPEEDS, voltages=Voltages(cranking_v=9.0))
    assert found.rpm.tolist() == [300, 400, 1000, 6000]
    assert found.lines[0].budget.on_ms.tolist() == [5.0, 5.0]
    assert CRANKING_RPM == 400
    slower = budgets_by_supply(COIL_B, 4, 5.0, 1.0, rpm=[100], voltages=Voltages(9.0), cranking_rpm=250)
    assert slower.rpm.tolist() == [100, 250]


def test_a_ballast_by_passed_while_cranking_counts_there_alone():
    # handbook 6: coil B at 7 V for 5 ms, 1.71506 A with ballast and 2.57491 A by-passed
    for circuit, amperes in ((None, 1.71506), (COIL_B.ballast_bypassed(), 2.57491)):
        found = budgets_by_supply(
            COIL_B, 4, 5.0, 1.0, rpm=[300], voltages=Voltages(cranking_v=7, charging_v=13.8), cranking=circuit
        )
        assert found.lines[0].budget.current_a[0] == pytest.approx(amperes, abs=5e-6)
        assert found.lines[1].budget.current_a[0] == pytest.approx(COIL_B.current(5.0))


def test_wasted_spark_and_uneven_firing_are_passed_on():
    found = budgets_by_supply(COIL_B, 2, 5.0, 1.0, rpm=[6000], voltages=Voltages(14.2), wasted_spark=True)
    assert found.lines[0].budget.limit_rpm == pytest.approx(10_000), "360 degrees in 6 ms, by hand"
    found = budgets_by_supply(COIL_B, 2, 5.0, 1.0, rpm=[6000], voltages=Voltages(14.2), intervals_deg=(180, 540))
    assert found.lines[0].budget.limit_rpm == pytest.approx(5_000), "180 degrees in 6 ms, by hand"


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Voltages(cranking_v=0), "the cranking voltage must be above 0 V, not 0"),
        (lambda: Voltages(resting_v=-1), "the resting voltage must be above 0 V, not -1"),
        (lambda: Voltages(charging_v="a"), "the charging voltage must be a number"),
        (lambda: budgets_by_supply(COIL_B, 4, 5, 1, rpm=[0], voltages=Voltages(9)), "engine speed must be above 0 rpm"),
        (lambda: budgets_by_supply(COIL_B, 4, 5, 1, rpm=[300], voltages=Voltages()), "no voltage has been measured"),
        (
            lambda: budgets_by_supply(COIL_B, 4, 5, 1, rpm=[300], voltages=Voltages(9), cranking_rpm=0),
            "the cranking speed must be above 0 rpm, not 0",
        ),
    ],
)
def test_voltages_that_cannot_be_are_refused(make, words):
    with pytest.raises(TimingError, match=f"^{words}"):
        make()
    assert issubclass(CoilError, TimingError)
