"""What a unit can hold, in sentences, for people who read and do not key in."""

from dataclasses import dataclass

from garage.quantities.words import plain
from timing.unit import BoostNodes, FixedNodes, RampEntries, Steps, TableEntries, UnitType


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of the description, for `_facts.html`."""

    label: str
    value: str
    unit: str = ""
    missing: str = "none"
    url: str = ""


def described(unit: UnitType) -> list[Fact]:
    """The description of `unit`, a fact a line."""
    manners = " or ".join(unit.rev_limit_manners)
    return [
        Fact("Points of the curve", _nodes(unit)),
        Fact("Degrees of a point", _steps(unit.degree, "°")),
        Fact("Counted", "from base timing" if unit.counted_from == "base" else "from top dead centre, base included"),
        Fact("Base timing", _steps(unit.base, "°"), missing="not keyed in: turn the distributor"),
        Fact("Vacuum part", _vacuum(unit.vacuum)),
        Fact("Retard under boost", _boost(unit.boost)),
        Fact("Dwell", _steps(unit.dwell_ms, " ms"), missing="not keyed in"),
        Fact("Rev limit", f"{_steps(unit.rev_limit_rpm, ' rpm')}, {manners}" if unit.rev_limit_rpm else ""),
        Fact("Repeated sparks", "can be switched on" if unit.repeated_sparks else ""),
        Fact("Delay of the spark", "has an entry" if unit.takes_delay else ""),
    ]


def _steps(steps: Steps | None, unit: str) -> str:
    if steps is None:
        return ""
    return f"{plain(steps.low)} to {plain(steps.high)}{unit}, step {plain(steps.step)}"


def _nodes(unit: UnitType) -> str:
    if isinstance(unit.nodes, FixedNodes):
        return f"{len(unit.nodes.rpm)}, at {_list(unit.nodes.rpm)} rpm"
    return f"{unit.nodes.count}, anywhere from {_steps(unit.nodes.speeds, ' rpm')}"


def _vacuum(part: RampEntries | TableEntries | None) -> str:
    if isinstance(part, TableEntries):
        return (
            f"a table of {len(part.vacuum)} rows ({_list(part.vacuum)} {part.unit}) by {len(part.rpm)} columns "
            f"({_list(part.rpm)} rpm), {_steps(part.degrees, '°')}"
        )
    return _ramp(part)


def _boost(part: RampEntries | BoostNodes | None) -> str:
    if isinstance(part, BoostNodes):
        return f"points at {_list(part.boost)} {part.unit}, {_steps(part.degrees, '°')}"
    return _ramp(part)


def _ramp(part: RampEntries | None) -> str:
    if part is None:
        return ""
    words = (
        f"a ramp: starts at {_steps(part.start, f' {part.unit}')}, full at {_steps(part.full, f' {part.unit}')}, "
        f"{_steps(part.degrees, '°')}"
    )
    return words + (f", from {_steps(part.from_rpm, ' rpm')}" if part.from_rpm else "")


def _list(figures: tuple[float, ...]) -> str:
    return ", ".join(plain(figure) for figure in figures)
