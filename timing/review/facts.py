"""What a review is told about the car. Whatever is not known is None, and a finding says so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias, get_args

from timing.coil import Primary, spark_intervals
from timing.distributor import CrankTrigger, DistributorTrigger, RotorSetting, TriggerPlace
from timing.distributor.phasing import HIGHEST_SPARK_DEG, LOWEST_SPARK_DEG
from timing.inputs import number, whole
from timing.review.finding import ReviewError

Tachometer: TypeAlias = Literal["none", "coil current", "coil voltage", "mechanical"]
TACHOMETERS: Final = get_args(Tachometer)

VacuumPort: TypeAlias = Literal["manifold", "throttle"]
"""Where the vacuum pipe is connected; a throttle port lies above the closed throttle and has no vacuum at idle."""

VACUUM_PORTS: Final = get_args(VacuumPort)

# More than any engine with a distributor has: beyond it is a slipped digit.
MOST_CYLINDERS: Final = 24


@dataclass(frozen=True, slots=True)
class RotorFacts:
    """Rotor and cap of the locked distributor.

    Attributes
    ----------
    tip_radius_mm, tip_width_mm, post_width_mm, radial_gap_mm : float or None
        As `timing.distributor.phasing.rotor_phasing`. [mm]
    aligned_at_deg : float or None
        Advance at which tip and terminal are in line, as found by turning the engine. [degrees of crank] None: not
        measured; the best place is taken.
    terminals : int or None
        Posts round the cap; None where there are as many as cylinders.
    is_locked : bool
        Whether the old advance mechanism is locked already.
    trigger_place : TriggerPlace or None
        Where the unit's trigger sits; None where nobody has said so.
    edge_deg : float or None
        Where the trigger's edge comes, as the unit is told apart from base timing. [degrees of crank before top dead
        centre] None: the unit sparks at the edge when it adds nothing, so that the edge is base timing.
    tip_at_edge_dist_deg : float or None
        From the tip to its terminal at the edge, positive while the tip is not there yet. [degrees of the distributor]
    plate_moves : bool or None
        Whether plate or pick-up can be moved on the body.

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.
    """

    tip_radius_mm: float | None = None
    tip_width_mm: float | None = None
    post_width_mm: float | None = None
    radial_gap_mm: float | None = None
    aligned_at_deg: float | None = None
    terminals: int | None = None
    is_locked: bool = False
    trigger_place: TriggerPlace | None = None
    edge_deg: float | None = None
    tip_at_edge_dist_deg: float | None = None
    plate_moves: bool | None = None

    def __post_init__(self) -> None:
        _keep(self, "tip_radius_mm", "the rotor's radius", above=0.0, unit="mm")
        _keep(self, "tip_width_mm", "the rotor tip's width", above=0.0, unit="mm")
        _keep(self, "post_width_mm", "the cap terminal's width", above=0.0, unit="mm")
        _keep(self, "radial_gap_mm", "the rotor's air gap", above=0.0, unit="mm")
        in_line = "the advance at which rotor and terminal are in line"
        _keep(self, "aligned_at_deg", in_line, low=LOWEST_SPARK_DEG, high=HIGHEST_SPARK_DEG, unit="degrees")
        _keep(self, "edge_deg", "the trigger's edge", low=-360.0, high=360.0, unit="degrees")
        at_edge = "the rotor tip at the edge"
        _keep(self, "tip_at_edge_dist_deg", at_edge, low=-180.0, high=180.0, unit="distributor degrees")
        if self.terminals is not None:
            posts = whole(self.terminals, "the number of cap terminals", low=2, high=MOST_CYLINDERS)
            object.__setattr__(self, "terminals", posts)

    @property
    def lacking(self) -> tuple[str, ...]:
        """The measures of rotor and cap that are not known, as text."""
        measures = {
            "the rotor's radius": self.tip_radius_mm,
            "the rotor tip's width": self.tip_width_mm,
            "the cap terminal's width": self.post_width_mm,
            "the rotor's air gap": self.radial_gap_mm,
        }
        return tuple(name for name, value in measures.items() if value is None)

    def setting(self, base_deg: float, strokes: int = 4) -> RotorSetting | None:
        """What sets the rotor, as far as it was measured.

        Parameters
        ----------
        base_deg : float
            Base timing of the map: where the edge comes, unless the unit is told of another. [degrees of crank]
        strokes : int
            4 or 2.

        Returns
        -------
        RotorSetting or None
            None where the trigger's place or the measure that belongs to it is not known.
        """
        if self.trigger_place is TriggerPlace.DISTRIBUTOR and self.tip_at_edge_dist_deg is not None:
            edge = base_deg if self.edge_deg is None else self.edge_deg
            return DistributorTrigger(edge, self.tip_at_edge_dist_deg, strokes)
        if self.trigger_place is TriggerPlace.CRANK_OR_CAMSHAFT and self.aligned_at_deg is not None:
            return CrankTrigger(self.aligned_at_deg, strokes)
        return None


@dataclass(frozen=True, slots=True)
class EngineFacts:
    """The engine, as far as it is known.

    Attributes
    ----------
    cylinders : int or None
        How many; for one coil and a distributor also the sparks of the coil in one working cycle.
    strokes : int
        4 or 2.
    intervals_deg : tuple of float or None
        Crank angles from one spark to the next where it fires unevenly: a whole cycle, or the stretch that repeats.
        [degrees of crank]
    wasted_spark : bool
        Whether each coil serves two cylinders and sparks once a turn of the crank, without rotor and cap.
    idle_rpm, red_line_rpm : float or None
        [rpm at the crank]
    idle_vacuum_kpa : float or None
        Manifold vacuum at a warm idle, as measured at the workshop. [kPa below atmosphere]
    vacuum_port : 'manifold', 'throttle' or None
        Where the vacuum pipe is connected.
    fuel_ron : float or None
        Octane of the fuel the owner uses. [RON]
    full_load_limit_deg, light_load_limit_deg : float or None
        This engine's own limits of total advance; without the first the usual one of `ReviewLimits` holds, without
        the second only the limit for everywhere. [degrees of crank]
    boosted : bool or None
        Whether it is supercharged or turbocharged.
    tachometer : 'none', 'coil current', 'coil voltage', 'mechanical' or None
        What drives the rev counter.
    trigger_deg : float or None
        Where the edge of a fixed trigger comes. [degrees of crank before top dead centre]
    times_from_edge_before : bool
        Whether the unit can time a spark from the edge before, for one earlier than `trigger_deg`. False only where
        the unit type says that it cannot.
    has_distributor : bool
        Whether a rotor and cap share out the sparks.
    rotor : RotorFacts or None
        Their geometry.

    Raises
    ------
    ReviewError
        If tachometer or vacuum port are of no known kind, or strokes are neither 2 nor 4.
    CoilError
        If the intervals do not make up the engine's cycle.
    TimingError
        If a figure is out of its range or not finite.
    """

    cylinders: int | None = None
    strokes: int = 4
    intervals_deg: tuple[float, ...] | None = None
    wasted_spark: bool = False
    idle_rpm: float | None = None
    red_line_rpm: float | None = None
    idle_vacuum_kpa: float | None = None
    vacuum_port: VacuumPort | None = None
    fuel_ron: float | None = None
    full_load_limit_deg: float | None = None
    light_load_limit_deg: float | None = None
    boosted: bool | None = None
    tachometer: Tachometer | None = None
    trigger_deg: float | None = None
    times_from_edge_before: bool = True
    has_distributor: bool = True
    rotor: RotorFacts | None = None

    def __post_init__(self) -> None:
        if self.cylinders is not None:
            count = whole(self.cylinders, "the number of cylinders", low=1, high=MOST_CYLINDERS)
            object.__setattr__(self, "cylinders", count)
        if self.strokes not in (2, 4):
            raise ReviewError(f"an engine has 2 or 4 strokes, not {self.strokes!r}")
        if self.tachometer not in (None, *TACHOMETERS):
            raise ReviewError(f"a tachometer is one of {', '.join(TACHOMETERS)}, not {self.tachometer!r}")
        if self.vacuum_port not in (None, *VACUUM_PORTS):
            raise ReviewError(f"a vacuum port is one of {', '.join(VACUUM_PORTS)}, not {self.vacuum_port!r}")
        _keep(self, "idle_rpm", "the idle speed", above=0.0, unit="rpm")
        _keep(self, "red_line_rpm", "the red line", above=0.0, unit="rpm")
        _keep(self, "idle_vacuum_kpa", "the vacuum at idle", above=0.0, unit="kPa")
        _keep(self, "fuel_ron", "the fuel's octane", above=0.0, unit="RON")
        _keep(self, "full_load_limit_deg", "the engine's limit at full load")
        _keep(self, "light_load_limit_deg", "the engine's limit at light load")
        _keep(self, "trigger_deg", "the trigger's position")
        if self.intervals_deg is not None:
            object.__setattr__(self, "intervals_deg", tuple(self.intervals_deg))
            if self.cylinders is not None:
                spark_intervals(self.cylinders, strokes=self.strokes, intervals_deg=self.intervals_deg)

    @property
    def has_rotor(self) -> bool:
        """Whether a rotor and cap share out the sparks."""
        return self.has_distributor and not self.wasted_spark

    @property
    def vacuum_at_idle_kpa(self) -> float | None:
        """What the pipe has at idle: nothing on a throttle port, else what was measured. [kPa below atmosphere]"""
        return 0.0 if self.vacuum_port == "throttle" else self.idle_vacuum_kpa


@dataclass(frozen=True, slots=True)
class CoilFacts:
    """The coil and what feeds it.

    Attributes
    ----------
    primary : Primary or None
        The circuit at charging voltage and working temperature; its inductance may be unknown.
    cranking_v : float or None
        Voltage at the feed while cranking. [V]
    ballast_bypassed_cranking : bool
        Whether the ballast is by-passed while cranking.
    cold_ohm : float or None
        The primary's resistance as it was measured: a coil is no warmer while cranking. None: as in `primary`. [ohm]
    most_current_a : float or None
        Current that coil or unit bear, from their own data only; None takes the usual one of `ReviewLimits`. [A]
    heat_limit_w : float or None
        Heat the coil bears, from its own data only. [W]
    spark_ms : float or None
        Time the spark needs; None takes the usual one of `ReviewLimits`. [ms]

    Raises
    ------
    CoilError
        If the unit's switch takes the whole voltage while cranking.
    TimingError
        If a figure is out of its range or not finite.
    """

    primary: Primary | None = None
    cranking_v: float | None = None
    ballast_bypassed_cranking: bool = False
    cold_ohm: float | None = None
    most_current_a: float | None = None
    heat_limit_w: float | None = None
    spark_ms: float | None = None

    def __post_init__(self) -> None:
        _keep(self, "cranking_v", "the voltage while cranking", above=0.0, unit="V")
        _keep(self, "cold_ohm", "the primary's resistance as measured", above=0.0, unit="ohm")
        _keep(self, "most_current_a", "the current that coil and unit bear", above=0.0, unit="A")
        _keep(self, "heat_limit_w", "the heat the coil bears", above=0.0, unit="W")
        _keep(self, "spark_ms", "the time of a spark", above=0.0, unit="ms")
        _ = self.cranking  # refuses a voltage that the unit's switch takes whole

    @property
    def cranking(self) -> Primary | None:
        """The circuit while cranking, as far as it is known: the coil cold, a ballast by-passed where it is."""
        if self.primary is None or self.cranking_v is None:
            return None
        circuit = self.primary.ballast_bypassed() if self.ballast_bypassed_cranking else self.primary
        if self.cold_ohm is not None:
            circuit = replace(circuit, resistance_ohm=self.cold_ohm)
        return circuit.at_supply(self.cranking_v)


@dataclass(frozen=True, slots=True)
class PinkingNote:
    """Pinking that was noted on the road with an earlier version of the map.

    Attributes
    ----------
    rpm : float
        Engine speed, above zero. [rpm at the crank]
    vacuum : float
        Manifold vacuum; negative is boost. [kPa below atmosphere]
    advance_deg : float
        What the unit gave there. [degrees of crank before top dead centre]
    retard_deg : float or None
        Retard that the notes suggest there, above zero. [degrees of crank]

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.
    """

    rpm: float
    vacuum: float
    advance_deg: float
    retard_deg: float | None = None

    def __post_init__(self) -> None:
        _keep(self, "rpm", "the speed of a note", above=0.0, unit="rpm")
        _keep(self, "vacuum", "the vacuum of a note")
        _keep(self, "advance_deg", "the advance of a note")
        _keep(self, "retard_deg", "the suggested retard", above=0.0, unit="degrees")


def _keep(
    facts: object,
    name: str,
    label: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    unit: str = "",
) -> None:
    value = getattr(facts, name)
    if value is not None:
        object.__setattr__(facts, name, number(value, label, low=low, high=high, above=above, unit=unit))
