"""The limits a review holds a map against. All are common practice without a source, and a workshop may set them."""

from __future__ import annotations

from dataclasses import dataclass, fields

from timing.inputs import number


@dataclass(frozen=True, slots=True)
class ReviewLimits:
    """What a map is held against (common practice, no source).

    Attributes
    ----------
    full_load_deg : float
        Most total advance at full load, for an engine without a limit of its own. [degrees of crank]
    anywhere_deg : float
        Most total advance anywhere. [degrees of crank]
    full_load_kpa : float
        Vacuum up to which the throttle counts as wide open. [kPa below atmosphere]
    least_deg : float
        Least total advance at full load from `least_from_rpm` on, not boosted. [degrees of crank]
    least_from_rpm : float
        Below this speed an engine may run on less. [rpm at the crank]
    slope_deg : float
        Steepest speed curve. [degrees per 1000 rpm]
    rising_from_rpm : float
        Above this speed a curve that no longer rises is odd. [rpm at the crank]
    cranking_rpm : float
        Below this the engine is being cranked. [rpm at the crank]
    cranking_deg : float
        Most total advance there. [degrees of crank]
    step_deg : float
        Largest step between neighbouring cells, and where the vacuum part is switched on by speed.
        [degrees of crank]
    vacuum_slope_deg : float
        Steepest vacuum part. [degrees of crank per kPa]
    idle_band_rpm : float
        How far an idle wanders either way. [rpm at the crank]
    idle_band_kpa : float
        How far its vacuum wanders either way. [kPa]
    idle_rise_deg : float
        Most the advance may change over either band without making the idle hunt. [degrees of crank]
    boost_retard_deg : float
        Least retard at 100 kPa of boost, and in proportion at less. [degrees of crank]
    boost_from_rpm : float
        Below this speed an engine makes no boost to speak of. [rpm at the crank]
    lowest_manifold_kpa : float
        Absolute pressure that no manifold goes below. [kPa]
    ordinary_ron : float
        Octane below which full-load advance must be proved anew. [RON]
    spark_ms : float
        Time kept for a spark where the coil's own is not known. [ms]
    least_energy_mj : float
        Weakest spark at top speed and while cranking. [mJ]
    ordinary_energy_mj : float
        Energy of an ordinary spark. [mJ]
    most_current_a : float
        Most current of a coil and a switch whose own limit is not known. [A]
    over_red_line_percent : float
        How far above the red line a rev limit is a caution; beyond that it is a stop. [percent of the red line]
    unused_deg : float
        Most the curve may still change above the rev limit, or would still change below it if its last point were
        not held. [degrees of crank]
    deviation_deg : float
        Most the unit's curve may stray from the one that was set. [degrees of crank]
    rounding_deg : float
        What a unit rounds by less than this, or by less than a tenth of its own step, is not said.
        [degrees of crank]
    rotor_overlap_mm, rotor_ratio : float
        Least overlap of rotor tip and terminal [mm], and least ratio of the neighbour's gap to the own.
    """

    full_load_deg: float = 38.0
    anywhere_deg: float = 55.0
    full_load_kpa: float = 5.0
    least_deg: float = 15.0
    least_from_rpm: float = 2500.0
    slope_deg: float = 25.0
    rising_from_rpm: float = 1500.0
    cranking_rpm: float = 500.0
    cranking_deg: float = 12.0
    step_deg: float = 6.0
    vacuum_slope_deg: float = 2.0
    idle_band_rpm: float = 100.0
    idle_band_kpa: float = 5.0
    idle_rise_deg: float = 1.0
    boost_retard_deg: float = 5.0
    boost_from_rpm: float = 2000.0
    lowest_manifold_kpa: float = 30.0
    ordinary_ron: float = 95.0
    spark_ms: float = 1.0
    least_energy_mj: float = 15.0
    ordinary_energy_mj: float = 30.0
    most_current_a: float = 8.0
    over_red_line_percent: float = 5.0
    unused_deg: float = 1.0
    deviation_deg: float = 1.0
    rounding_deg: float = 0.1
    rotor_overlap_mm: float = 1.0
    rotor_ratio: float = 5.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = number(getattr(self, field.name), f"the limit '{field.name.replace('_', ' ')}'", low=0.0)
            object.__setattr__(self, field.name, value)


USUAL = ReviewLimits()
