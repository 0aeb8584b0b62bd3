"""What a review is told about the car. Whatever is not known is None, and a finding says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias, get_args

from timing.coil import Primary
from timing.crank import firing_angle
from timing.distributor import CrankTrigger, DistributorTrigger, RotorSetting, TriggerPlace
from timing.distributor.phasing import HIGHEST_SPARK_DEG, LOWEST_SPARK_DEG
from timing.inputs import number, whole
from timing.review.finding import ReviewError

Tachometer: TypeAlias = Literal["none", "coil current", "coil voltage", "mechanical"]
TACHOMETERS: Final = get_args(Tachometer)

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
        Advance at which tip and post are in line, as found by turning the engine. [degrees of crank] None: not
        measured; the best place is taken.
    terminals : int or None
        Posts round the cap; None where there are as many as cylinders.
    trigger_place : TriggerPlace or None
        Where the unit's trigger sits; None where nobody has said so.
    edge_deg : float or None
        Where the trigger's edge comes, as the unit is told apart from base timing. [degrees of crank before top dead
        centre] None: the unit sparks at the edge when it adds nothing, so that the edge is base timing.
    tip_at_edge_dist_deg : float or None
        From the tip to its post at the edge, positive while the tip is not there yet. [degrees of the distributor]
    plate_moves : bool or None
        Whether plate or pick-up can be moved on the body.
    """

    tip_radius_mm: float | None = None
    tip_width_mm: float | None = None
    post_width_mm: float | None = None
    radial_gap_mm: float | None = None
    aligned_at_deg: float | None = None
    terminals: int | None = None
    trigger_place: TriggerPlace | None = None
    edge_deg: float | None = None
    tip_at_edge_dist_deg: float | None = None
    plate_moves: bool | None = None

    def __post_init__(self) -> None:
        _keep(self, "tip_radius_mm", "the rotor's radius", above=0.0, unit="mm")
        _keep(self, "tip_width_mm", "the rotor tip's width", above=0.0, unit="mm")
        _keep(self, "post_width_mm", "the cap post's width", above=0.0, unit="mm")
        _keep(self, "radial_gap_mm", "the rotor's air gap", above=0.0, unit="mm")
        in_line = "the advance at which rotor and post are in line"
        _keep(self, "aligned_at_deg", in_line, low=LOWEST_SPARK_DEG, high=HIGHEST_SPARK_DEG, unit="degrees")
        _keep(self, "edge_deg", "the trigger's edge", low=-360.0, high=360.0, unit="degrees")
        at_edge = "the rotor tip at the edge"
        _keep(self, "tip_at_edge_dist_deg", at_edge, low=-180.0, high=180.0, unit="distributor degrees")
        if self.terminals is not None:
            posts = whole(self.terminals, "the number of cap terminals", low=2, high=MOST_CYLINDERS)
            object.__setattr__(self, "terminals", posts)

    @property
    def lacking(self) -> tuple[str, ...]:
        """The measures of rotor and cap that are not known, in words."""
        measures = {
            "the rotor's radius": self.tip_radius_mm,
            "the rotor tip's width": self.tip_width_mm,
            "the cap post's width": self.post_width_mm,
            "the rotor's air gap": self.radial_gap_mm,
        }
        return tuple(name for name, figure in measures.items() if figure is None)

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
    shortest_interval_deg : float or None
        Shortest crank angle between two sparks, where it fires unevenly. [degrees of crank]
    idle_rpm, red_line_rpm : float or None
        [rpm at the crank]
    idle_vacuum_kpa : float or None
        Manifold vacuum at a warm idle, as measured at the workshop. [kPa below atmosphere]
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
        Where the edge of a fixed trigger comes, from which the unit delays. [degrees of crank before top dead centre]
    trigger_predicts : bool
        Whether the unit reckons the spark from the edge before, and so may go beyond `trigger_deg`.
    has_distributor : bool
        Whether a rotor and cap share out the sparks.
    rotor : RotorFacts or None
        Their geometry.

    Raises
    ------
    ReviewError
        If the tachometer is of no known kind, strokes are neither 2 nor 4, or the shortest interval is longer than
        the mean one.
    TimingError
        If a figure is out of its range or not finite.
    """

    cylinders: int | None = None
    strokes: int = 4
    shortest_interval_deg: float | None = None
    idle_rpm: float | None = None
    red_line_rpm: float | None = None
    idle_vacuum_kpa: float | None = None
    fuel_ron: float | None = None
    full_load_limit_deg: float | None = None
    light_load_limit_deg: float | None = None
    boosted: bool | None = None
    tachometer: Tachometer | None = None
    trigger_deg: float | None = None
    trigger_predicts: bool = False
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
        _keep(self, "shortest_interval_deg", "the shortest interval", above=0.0, unit="degrees")
        _keep(self, "idle_rpm", "the idle speed", above=0.0, unit="rpm")
        _keep(self, "red_line_rpm", "the red line", above=0.0, unit="rpm")
        _keep(self, "idle_vacuum_kpa", "the vacuum at idle", above=0.0, unit="kPa")
        _keep(self, "fuel_ron", "the fuel's octane", above=0.0, unit="RON")
        _keep(self, "full_load_limit_deg", "the engine's limit at full load")
        _keep(self, "light_load_limit_deg", "the engine's limit at light load")
        _keep(self, "trigger_deg", "the trigger's position")
        if self.cylinders is not None and self.shortest_interval_deg is not None:
            mean = float(firing_angle(self.cylinders, self.strokes))
            if self.shortest_interval_deg > mean:
                raise ReviewError(
                    f"the shortest interval cannot be {self.shortest_interval_deg:g}°: the mean one is only {mean:g}°"
                )


@dataclass(frozen=True, slots=True)
class CoilFacts:
    """The coil and what feeds it.

    Attributes
    ----------
    primary : Primary or None
        The circuit at charging voltage and working temperature.
    cranking_v : float or None
        Voltage at the feed while cranking. [V]
    ballast_bypassed_cranking : bool
        Whether the ballast is by-passed while cranking.
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
    heat_limit_w: float | None = None
    spark_ms: float | None = None

    def __post_init__(self) -> None:
        _keep(self, "cranking_v", "the voltage while cranking", above=0.0, unit="V")
        _keep(self, "heat_limit_w", "the heat the coil bears", above=0.0, unit="W")
        _keep(self, "spark_ms", "the time of a spark", above=0.0, unit="ms")
        _ = self.cranking  # refuses a voltage that the unit's switch takes whole

    @property
    def cranking(self) -> Primary | None:
        """The circuit while cranking, as far as it is known."""
        if self.primary is None or self.cranking_v is None:
            return None
        circuit = self.primary.ballast_bypassed() if self.ballast_bypassed_cranking else self.primary
        return circuit.at_supply(self.cranking_v)


def _keep(
    facts: object,
    name: str,
    what: str,
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    unit: str = "",
) -> None:
    figure = getattr(facts, name)
    if figure is not None:
        object.__setattr__(facts, name, number(figure, what, low=low, high=high, above=above, unit=unit))
