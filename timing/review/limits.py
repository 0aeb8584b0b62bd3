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
    idle_band_rpm : float
        How far an idle wanders either way. [rpm at the crank]
    idle_band_kpa : float
        How far its vacuum wanders either way. [kPa]
    idle_rise_deg : float
        Most the advance may change over either band without making the idle hunt. [degrees of crank]
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
    unused_deg : float
        Most the curve may still change above the rev limit. [degrees of crank]
    deviation_deg : float
        Most the unit's curve may stray from the wanted one. [degrees of crank]
    rotor_overlap_mm, rotor_ratio : float
        Least overlap of rotor tip and post [mm], and least ratio of the neighbour's gap to the own.
    """

    full_load_deg: float = 38.0
    anywhere_deg: float = 55.0
    full_load_kpa: float = 5.0
    slope_deg: float = 25.0
    rising_from_rpm: float = 1500.0
    cranking_rpm: float = 500.0
    cranking_deg: float = 12.0
    step_deg: float = 6.0
    idle_band_rpm: float = 100.0
    idle_band_kpa: float = 5.0
    idle_rise_deg: float = 1.0
    lowest_manifold_kpa: float = 30.0
    ordinary_ron: float = 95.0
    spark_ms: float = 1.0
    least_energy_mj: float = 15.0
    ordinary_energy_mj: float = 30.0
    unused_deg: float = 1.0
    deviation_deg: float = 1.0
    rotor_overlap_mm: float = 1.0
    rotor_ratio: float = 5.0

    def __post_init__(self) -> None:
        for field in fields(self):
            figure = number(getattr(self, field.name), f"the limit '{field.name.replace('_', ' ')}'", low=0.0)
            object.__setattr__(self, field.name, figure)


USUAL = ReviewLimits()
