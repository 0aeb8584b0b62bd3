"""What to do about a rotor that is out of line: each remedy with its amount, its direction and what comes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from timing.distributor.errors import DistributorError
from timing.distributor.phasing import Phasing, PhasingKind
from timing.distributor.rotor_setting import CrankTrigger, DistributorTrigger, Move, Part, RotorSetting
from timing.inputs import number
from timing.tolerance import exceeds

_DOES_NOT_HELP = (
    "Locking the weights at another angle does not help: cam and rotor move together.",
    "Turning the body alone does not move the tip at the edge: plate and cap move together.",
)


class RemedyKind(StrEnum):
    """The remedies, in the order in which they are preferred."""

    MOVE_PLATE = "move_plate"
    SET_BODY = "set_body"
    REINDEX_ROTOR = "reindex_rotor"
    SET_EDGE = "set_edge"
    NARROW_RANGE = "narrow_range"


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way to bring the rotor into line.

    Attributes
    ----------
    kind : RemedyKind
        Which way.
    moves : tuple of Move
        What is moved, in this order; empty where only the range is narrowed.
    setting : RotorSetting
        The three figures afterwards.
    phasing : Phasing
        Both ends of the range afterwards; its range is narrower where the whole range cannot be served.
    sentences : tuple of str
        What to do.
    notes : tuple of str
        What comes with it.
    """

    kind: RemedyKind
    moves: tuple[Move, ...]
    setting: RotorSetting
    phasing: Phasing
    sentences: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def amount_dist_deg(self) -> float:
        """How far each part is moved, 0 where none is. [degrees of the distributor]"""
        return self.moves[0].amount_dist_deg if self.moves else 0.0


@dataclass(frozen=True, slots=True)
class RotorAdvice:
    """The rotor of a distributor as set, and what would bring it into line, made by `rotor_advice`.

    Attributes
    ----------
    setting : RotorSetting
        The figures as measured.
    phasing : Phasing
        Both ends of the range as set.
    remedies : tuple of Remedy
        In the order in which they are preferred; empty where it holds, or where no remedy would serve.
    notes : tuple of str
        What is to be known, whatever is done.
    """

    setting: RotorSetting
    phasing: Phasing
    remedies: tuple[Remedy, ...]
    notes: tuple[str, ...]

    @property
    def does_not_help(self) -> tuple[str, ...]:
        """Those of the notes that say what to leave alone, and why."""
        return () if isinstance(self.setting, CrankTrigger) else _DOES_NOT_HELP


def rotor_advice(
    phasing: Phasing,
    setting: RotorSetting,
    *,
    rotor_clockwise: bool | None = None,
    rim_radius_mm: float | None = None,
    plate_moves: bool = True,
    unit_takes_edge: bool = False,
) -> RotorAdvice:
    """What the rotor as set comes to over the range, and each remedy with what comes of it.

    Parameters
    ----------
    phasing : Phasing
        Rotor, cap, range and limits. Where tip and terminal are in line is taken from `setting`.
    setting : RotorSetting
        `DistributorTrigger` or `CrankTrigger`, as measured.
    rotor_clockwise : bool, optional
        How the rotor turns, seen from above; left out, directions are given by the rotor's turn alone.
    rim_radius_mm : float, optional
        Radius of the body's rim, where moves of body and plate are measured. [mm]
    plate_moves : bool
        Whether plate or pick-up can be moved on the body.
    unit_takes_edge : bool
        Whether the unit can be told the angle of its edge apart from base timing.

    Returns
    -------
    RotorAdvice
        With the state before, and after each remedy.

    Raises
    ------
    DistributorError
        If the setting is of another number of strokes than the phasing.
    TimingError
        If the radius is not above zero.

    Notes
    -----
    With x = (aligned at best - aligned now) / crank turns for one turn of the distributor: plate with the turn of
    the rotor by x, and body against it by x, which brings the edge back; or the rotor re-indexed with its turn by x;
    or the body alone against it by x, the edge moving along. Negative x is the other way.

    References
    ----------
    Derived; a model of cam, plate, body and cap as four bodies agrees (tests/timing/distributor).
    """
    if setting.crank_turns != phasing.crank_turns:
        raise DistributorError(
            f"the rotor's setting has {setting.crank_turns:g} crank turns a turn, its cap {phasing.crank_turns:g}"
        )
    rim = None if rim_radius_mm is None else number(rim_radius_mm, "the radius of the rim", above=0.0, unit="mm")
    before = phasing.again(aligned_at_deg=setting.aligned_at_deg)
    adviser = _Adviser(before, setting, rotor_clockwise, rim)
    remedies: list[Remedy | None] = []
    if before.kind is not PhasingKind.HOLDS:
        if isinstance(setting, CrankTrigger):
            remedies = [adviser.set_body(), adviser.reindex_rotor(), adviser.narrow_range()]
        else:
            remedies = [
                adviser.move_plate(setting) if plate_moves else None,
                adviser.reindex_rotor(),
                adviser.set_edge(setting) if unit_takes_edge else None,
                adviser.narrow_range(),
            ]
    return RotorAdvice(
        setting=setting,
        phasing=before,
        remedies=tuple(remedy for remedy in remedies if remedy is not None),
        notes=(*_what_sets_it(setting), *_early_sparks(setting, before)),
    )


@dataclass(frozen=True, slots=True)
class _Adviser:
    before: Phasing
    setting: RotorSetting
    rotor_clockwise: bool | None
    rim_mm: float | None

    @property
    def x(self) -> float:
        """How far tip against terminal has to go. [degrees of the distributor, with the rotor's turn]"""
        off = (self.before.best_aligned_deg - self.before.aligned_at_deg) / self.before.crank_turns
        return math.remainder(off, 360.0)

    def move_plate(self, trigger: DistributorTrigger) -> Remedy | None:
        plate, body = Move(Part.PLATE, self.x, self.rim_mm), Move(Part.BODY, -self.x, self.rim_mm)
        return self._moved(
            RemedyKind.MOVE_PLATE,
            (plate, body),
            f"Move the {Part.PLATE} {self._by(plate)}.",
            f"Then turn the body {self._by(body)}.",
            f"That brings the edge back to {_btdc(trigger.edge_deg)}.",
        )

    def set_body(self) -> Remedy | None:
        body = Move(Part.BODY, -self.x, self.rim_mm)
        return self._moved(
            RemedyKind.SET_BODY,
            (body,),
            f"Turn the body {self._by(body)}.",
            f"Check: with cylinder 1 at {_btdc(self.before.best_aligned_deg)}, firing stroke, the tip points at its "
            "terminal.",
        )

    def reindex_rotor(self) -> Remedy | None:
        rotor = Move(Part.ROTOR, self.x, self.before.parts.tip_radius_mm)
        return self._moved(
            RemedyKind.REINDEX_ROTOR,
            (rotor,),
            f"Re-index the rotor {self._by(rotor)}.",
            "A rotor with its tip offset that way does the same.",
        )

    def set_edge(self, trigger: DistributorTrigger) -> Remedy | None:
        body = Move(Part.BODY, -self.x, self.rim_mm)
        return self._moved(
            RemedyKind.SET_EDGE,
            (body,),
            f"Turn the body {self._by(body)}.",
            f"Tell the unit that its edge comes at {_btdc(trigger.after((body,)).edge_deg)}; base timing stays.",
        )

    def narrow_range(self) -> Remedy | None:
        narrowed = self._served_about(self.before.aligned_at_deg)
        if narrowed is None:
            return None
        after = self.before.again(
            aligned_at_deg=self.before.aligned_at_deg, lowest_deg=narrowed[0], highest_deg=narrowed[1]
        )
        keep = f"Keep the advance {_between(narrowed)}; nothing is moved."
        notes = tuple(_early_sparks(self.setting, after))
        return Remedy(RemedyKind.NARROW_RANGE, (), self.setting, after, (keep,), notes)

    def _moved(self, kind: RemedyKind, moves: tuple[Move, ...], *sentences: str) -> Remedy | None:
        setting = self.setting.after(moves)
        if not exceeds(abs(self.x), 0.0):
            return None  # in line already: only the range is at fault
        lowest, highest = self.before.lowest.spark_deg, self.before.highest.spark_deg
        said = list(sentences)
        if self.before.kind is PhasingKind.RANGE_TOO_WIDE:
            narrowed = self._served_about(self.before.best_aligned_deg)
            if narrowed is None:
                return None
            lowest, highest = narrowed
            said.append(f"Keep the advance {_between(narrowed)} as well.")
        after = self.before.again(aligned_at_deg=setting.aligned_at_deg, lowest_deg=lowest, highest_deg=highest)
        return Remedy(kind, moves, setting, after, tuple(said), tuple(_early_sparks(setting, after)))

    def _served_about(self, aligned_at_deg: float) -> tuple[float, float] | None:
        """The part of the range that rotor and cap serve, in line there; whole degrees, for maps are written so."""
        half = self.before.widest_range_deg / 2.0
        lowest = max(self.before.lowest.spark_deg, math.ceil(aligned_at_deg - half))
        highest = min(self.before.highest.spark_deg, math.floor(aligned_at_deg + half))
        return (lowest, highest) if half > 0.0 and lowest < highest else None

    def _by(self, move: Move) -> str:
        way = "with" if move.with_the_turn else "against"
        hand = ""
        if self.rotor_clockwise is not None:
            hand = ", clockwise" if move.is_clockwise(self.rotor_clockwise) else ", anticlockwise"
        along = "" if move.amount_mm is None else f" ({move.amount_mm:.1f} mm)"
        return f"{move.amount_dist_deg:.1f} distributor degrees{along} {way} the turn of the rotor{hand}"


def _what_sets_it(setting: RotorSetting) -> Sequence[str]:
    if isinstance(setting, CrankTrigger):
        return (
            "This distributor triggers nothing: its body sets the rotor under the cap and leaves the timing alone.",
        )
    return _DOES_NOT_HELP


def _early_sparks(setting: RotorSetting, phasing: Phasing) -> Sequence[str]:
    highest = phasing.highest.spark_deg
    if isinstance(setting, CrankTrigger) or not exceeds(highest, setting.edge_deg):
        return ()
    before = setting.edge_before_deg(phasing.parts.terminals)
    return (
        f"A spark earlier than {_btdc(setting.edge_deg)} is timed from the edge before, at {_btdc(before)}. "
        "That is less exact while the speed changes.",
    )


def _btdc(degrees: float) -> str:
    return f"{round(degrees, 1) + 0.0:g}° BTDC"


def _between(ends: tuple[float, float]) -> str:
    return f"between {ends[0]:g}° and {ends[1]:g}° BTDC"
