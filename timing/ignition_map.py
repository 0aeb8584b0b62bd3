"""One ignition map as plain data: everything that is set in a unit, and the form its identity is made of."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, Literal, TypeAlias, get_args

from numpy.typing import ArrayLike

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.inputs import FloatOrArray, number
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

RevLimitManner: TypeAlias = Literal["soft", "hard"]
"""soft: sparks are dropped in rotation; hard: all of them are."""

Trigger: TypeAlias = Literal["contact breaker", "hall", "optical", "inductive"]

REV_LIMIT_MANNERS: Final = get_args(RevLimitManner)
TRIGGERS: Final = get_args(Trigger)

# Half a turn either side of top dead centre is no base timing, whatever the engine: a slipped digit. [degrees]
_MOST_BASE = 90.0

# A millionth of a degree, rpm, kPa or ms is below what any unit can hold and above the noise of two conversions.
_DECIMALS = 6

# Written into every canonical form, so that a later form can be told from this one and old hashes stay true.
_FORM = 1


class MapError(TimingError):
    """A map that cannot be, or a stored form that is not a map."""


@dataclass(frozen=True, slots=True)
class IgnitionMap:
    """Everything that is set in a programmable unit for one engine. What is not known or not set is None.

    Attributes
    ----------
    base_deg : float
        Base timing. [degrees of crank, positive before top dead centre]
    curve : AdvanceCurve
        Advance by speed, counted from the base and not including it. [degrees of crank]
    vacuum : VacuumRamp, VacuumTable or None
        What vacuum adds.
    boost : BoostRetard or None
        What boost takes away.
    dwell_ms : float or None
        Dwell, above 0. [ms]
    rev_limit_rpm : float or None
        Speed above which sparks are dropped, above 0. [rpm at the crank]
    rev_limit_manner : 'soft', 'hard' or None
        Sparks dropped in rotation, or all dropped.
    repeated_sparks : bool
        Whether several sparks are given a firing while cranking.
    trigger : 'contact breaker', 'hall', 'optical', 'inductive' or None
        What tells the unit where the crank is.

    Raises
    ------
    MapError
        If a part is of the wrong kind, or two nodes are too close together for the record to tell them apart.
    TimingError
        If a figure is not a finite number in its range.
    """

    base_deg: float
    curve: AdvanceCurve
    vacuum: VacuumRamp | VacuumTable | None = None
    boost: BoostRetard | None = None
    dwell_ms: float | None = None
    rev_limit_rpm: float | None = None
    rev_limit_manner: RevLimitManner | None = None
    repeated_sparks: bool = False
    trigger: Trigger | None = None

    def __post_init__(self) -> None:
        base = number(self.base_deg, "base timing", low=-_MOST_BASE, high=_MOST_BASE, unit="degrees")
        object.__setattr__(self, "base_deg", base)
        for name, label, unit in (("dwell_ms", "dwell", "ms"), ("rev_limit_rpm", "the rev limit", "rpm")):
            if getattr(self, name) is not None:
                value = number(getattr(self, name), label, above=0, unit=unit)
                number(_rounded(value), label, above=0, unit=unit)  # nor may the record make it 0
                object.__setattr__(self, name, value)
        if self.rev_limit_manner not in (None, *REV_LIMIT_MANNERS):
            raise MapError(f"the rev limit is soft or hard, not {self.rev_limit_manner!r}")
        if not isinstance(self.repeated_sparks, bool):
            raise MapError("repeated sparks while cranking are either on or off")
        if self.trigger not in (None, *TRIGGERS):
            raise MapError(f"the trigger is one of {', '.join(TRIGGERS)}, not {self.trigger!r}")
        self.total_advance()  # refuses parts of the wrong kind
        for nodes, unit in _node_lists(self):
            rounded = _rounded_list(nodes)
            if len(set(rounded)) < len(rounded):
                raise MapError(f"two nodes are closer together than a millionth of 1 {unit}")

    def total_advance(self) -> TotalAdvance:
        """The surface of total advance over speed and vacuum."""
        return TotalAdvance(base=self.base_deg, curve=self.curve, vacuum=self.vacuum, boost=self.boost)

    def total(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatOrArray:
        """Total advance at each pair of speed and vacuum. [degrees of crank before top dead centre]

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank]
        vacuum : float or array
            Manifold vacuum, broadcast against `rpm`. Negative is boost. [kPa below atmosphere]

        Returns
        -------
        float or array
            A float for two single figures, otherwise an array of the broadcast shape.

        Raises
        ------
        TimingError
            If a figure is not finite, a speed is negative, or the shapes do not go together.
        """
        return self.total_advance().advance(rpm=rpm, vacuum=vacuum)

    def canonical(self) -> dict[str, Any]:
        """The map as plain values fit for JSON, always in the same order and rounded to a millionth.

        Two maps that differ only by the noise of floating point have the same canonical form. `from_canonical` is
        the way back.
        """
        return {
            "form": _FORM,
            "base_deg": _rounded(self.base_deg),
            "curve": {"rpm": _rounded_list(self.curve.rpm), "degrees": _rounded_list(self.curve.degrees)},
            "vacuum": _canonical_vacuum(self.vacuum),
            "boost": None
            if self.boost is None
            else {"boost": _rounded_list(self.boost.boost), "degrees": _rounded_list(self.boost.degrees)},
            "dwell_ms": _rounded_if_set(self.dwell_ms),
            "rev_limit_rpm": _rounded_if_set(self.rev_limit_rpm),
            "rev_limit_manner": self.rev_limit_manner,
            "repeated_sparks": self.repeated_sparks,
            "trigger": self.trigger,
        }

    def content_hash(self) -> str:
        """The map's identity: SHA-256 over the canonical form, in 64 hexadecimal digits.

        The form is written as JSON with sorted keys, no blanks and ASCII only, its figures in the shortest decimal
        that reads back the same: the same on every machine.
        """
        text = json.dumps(self.canonical(), sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
        return hashlib.sha256(text.encode("ascii")).hexdigest()

    @classmethod
    def from_canonical(cls, form: Mapping[str, Any]) -> IgnitionMap:
        """The map that `form` is the canonical form of. Whole figures may have lost their fraction on the way.

        Raises
        ------
        MapError
            If an entry is missing or unknown, or the form is of another kind.
        TimingError
            If a figure in it cannot be.
        """
        own = tuple(field.name for field in fields(cls))
        entries = _entries(form, "the map", ("form", *own))
        if entries["form"] != _FORM:
            raise MapError(f"the stored map has form {entries['form']!r}, this program reads form {_FORM}")
        curve = _entries(entries["curve"], "the speed curve", ("rpm", "degrees"))
        boost = entries["boost"]
        return cls(
            base_deg=entries["base_deg"],
            curve=AdvanceCurve(curve["rpm"], curve["degrees"]),
            vacuum=_vacuum_from(entries["vacuum"]),
            boost=None if boost is None else BoostRetard(**_entries(boost, "the boost part", ("boost", "degrees"))),
            dwell_ms=entries["dwell_ms"],
            rev_limit_rpm=entries["rev_limit_rpm"],
            rev_limit_manner=entries["rev_limit_manner"],
            repeated_sparks=entries["repeated_sparks"],
            trigger=entries["trigger"],
        )


_VACUUM_KINDS: Final = {
    "ramp": (VacuumRamp, ("start", "full", "full_deg", "from_rpm")),
    "table": (VacuumTable, ("rpm", "vacuum", "degrees")),
}


def _canonical_vacuum(part: VacuumRamp | VacuumTable | None) -> dict[str, Any] | None:
    if part is None:
        return None
    if isinstance(part, VacuumRamp):
        return {"kind": "ramp"} | {name: _rounded(getattr(part, name)) for name in _VACUUM_KINDS["ramp"][1]}
    return {
        "kind": "table",
        "rpm": _rounded_list(part.rpm),
        "vacuum": _rounded_list(part.vacuum),
        "degrees": [_rounded_list(row) for row in part.degrees],
    }


def _vacuum_from(form: Any) -> VacuumRamp | VacuumTable | None:
    if form is None:
        return None
    kind = form.get("kind") if isinstance(form, Mapping) else None
    if kind not in _VACUUM_KINDS:
        raise MapError(f"the stored vacuum part is a ramp or a table, not {kind!r}")
    made_of, names = _VACUUM_KINDS[kind]
    entries = _entries(form, f"the vacuum {kind}", ("kind", *names))
    part: VacuumRamp | VacuumTable = made_of(**{name: entries[name] for name in names})
    return part


def _entries(form: Any, label: str, names: tuple[str, ...]) -> dict[str, Any]:
    """The entries of a stored form, which must be exactly `names`."""
    if not isinstance(form, Mapping):
        raise MapError(f"{label} is not stored as named entries")
    missing = [name for name in names if name not in form]
    if missing:
        raise MapError(f"{label} is stored without its {', '.join(missing)}")
    unknown = sorted(str(name) for name in form if name not in names)
    if unknown:
        raise MapError(f"{label} is stored with entries unknown here: {', '.join(unknown)}")
    return dict(form)


def _node_lists(ignition_map: IgnitionMap) -> list[tuple[tuple[float, ...], str]]:
    lists = [(ignition_map.curve.rpm, "rpm")]
    if isinstance(ignition_map.vacuum, VacuumTable):
        lists += [(ignition_map.vacuum.rpm, "rpm"), (ignition_map.vacuum.vacuum, "kPa")]
    elif ignition_map.vacuum is not None:
        lists.append(((ignition_map.vacuum.start, ignition_map.vacuum.full), "kPa"))
    if ignition_map.boost is not None:
        lists.append((ignition_map.boost.boost, "kPa"))
    return lists


def _rounded(value: float) -> float:
    return round(value, _DECIMALS) + 0.0  # never -0.0, which is written with a sign


def _rounded_if_set(value: float | None) -> float | None:
    return None if value is None else _rounded(value)


def _rounded_list(values: Iterable[float]) -> list[float]:
    return [_rounded(value) for value in values]
