"""The speed curve of an ignition: how much advance at which engine speed, and what may be done to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.grid import MOST_DEGREES, SAME
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, within


class CurveError(TimingError):
    """A curve that cannot exist, or an edit that would not leave one."""


class LargestDifference(NamedTuple):
    """Where two curves are furthest apart.

    Attributes
    ----------
    degrees : float
        The difference there, with its sign. [degrees of crank]
    at_rpm : float
        The speed; the lowest one where several are equal. [rpm at the crank]
    """

    degrees: float
    at_rpm: float


@dataclass(frozen=True, slots=True, init=False)
class AdvanceCurve:
    """Advance over engine speed: straight between nodes, and the end values held outside them.

    Holding the ends is the only continuation that cannot run away (common practice, no source). A curve is
    immutable, equal to another with the same nodes, and may be a key of a dictionary. Edits give a new one.

    Degrees may be negative: an absolute curve may retard past top dead centre, and the difference of two
    curves is a curve too. What is sensible for an engine is a matter for `timing.review`.

    Parameters
    ----------
    rpm : sequence of float
        Speed of each node, strictly rising, zero or more; at least one. [rpm at the crank]
    degrees : sequence of float
        Advance at each node. [degrees of crank, positive before top dead centre]

    Raises
    ------
    CurveError
        If there is no node, the two lists differ in length, or the speeds do not rise.
    TimingError
        If a figure is not a finite number, a speed is negative, or an advance absurdly large.
    """

    rpm: tuple[float, ...]
    degrees: tuple[float, ...]

    def __init__(self, rpm: ArrayLike, degrees: ArrayLike) -> None:
        speeds = rising_speeds(rpm)
        advances = within(degrees, "the advance of a node", low=-MOST_DEGREES, high=MOST_DEGREES, unit="degrees")
        if advances.shape != speeds.shape:
            raise CurveError(f"a curve needs one advance for each speed, not {advances.size} for {speeds.size}")
        _refuse_if_vertical(speeds, advances)
        object.__setattr__(self, "rpm", tuple(speeds.tolist()))
        object.__setattr__(self, "degrees", tuple(advances.tolist()))

    def advance(self, rpm: ArrayLike) -> FloatOrArray:
        """Advance at `rpm`: linear between nodes, the end values held outside. [degrees of crank]

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank]

        Returns
        -------
        float or array
            A float for a single speed, otherwise an array of the shape of `rpm`.

        Raises
        ------
        TimingError
            If a speed is negative, NaN or infinite.
        """
        speeds = within(rpm, "engine speed", low=0, unit="rpm")
        return same_shape_as_asked(np.asarray(np.interp(speeds, self.rpm, self.degrees)))

    def slope(self) -> FloatArray:
        """Slope of each stretch between neighbours; empty for a single node. [degrees per 1000 rpm]"""
        return np.asarray(1000.0 * np.diff(self.degrees) / np.diff(self.rpm))

    def shift(self, degrees: float) -> AdvanceCurve:
        """The curve with `degrees` of advance added everywhere; negative retards. [degrees of crank]"""
        by = number(degrees, "the shift")
        return AdvanceCurve(self.rpm, np.add(self.degrees, by))

    def blend(self, other: AdvanceCurve, share: float) -> AdvanceCurve:
        """A mixture of two curves, exact at every speed: it has the nodes of both.

        Parameters
        ----------
        other : AdvanceCurve
            The curve to mix in.
        share : float
            How much of `other`: 0 gives this curve, 1 gives the other.

        Returns
        -------
        AdvanceCurve
            With the nodes of both.

        Raises
        ------
        TimingError
            If `share` is not between 0 and 1.
        """
        part = number(share, "the share of the other curve", low=0, high=1)
        speeds, own, others = self._beside(other)
        return AdvanceCurve(speeds, (1.0 - part) * own + part * others)

    def difference(self, other: AdvanceCurve) -> AdvanceCurve:
        """The curve minus `other`, exact at every speed: it has the nodes of both. [degrees of crank]

        Positive where this curve is the more advanced.
        """
        speeds, own, others = self._beside(other)
        return AdvanceCurve(speeds, own - others)

    def largest_difference(self, other: AdvanceCurve) -> LargestDifference:
        """Where this curve is furthest from `other`, and by how much.

        The difference of two curves is linear between the nodes of both and constant outside them, so that
        the largest one stands at a node: nothing is sampled.
        """
        gap = self.difference(other)
        sizes = np.abs(gap.degrees)
        first = int(np.argmax(sizes >= sizes.max() - SAME))
        return LargestDifference(gap.degrees[first], gap.rpm[first])

    def _beside(self, other: AdvanceCurve) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The speeds of both curves' nodes, and the advance of each curve there."""
        if not isinstance(other, AdvanceCurve):
            raise CurveError("the other curve must be an AdvanceCurve")
        speeds = np.union1d(self.rpm, other.rpm)
        return (
            speeds,
            np.asarray(np.interp(speeds, self.rpm, self.degrees)),
            np.asarray(np.interp(speeds, other.rpm, other.degrees)),
        )


def rising_speeds(rpm: ArrayLike) -> FloatArray:
    """The speeds of nodes as an array, each above the one before. [rpm]

    Raises
    ------
    CurveError
        If there is none, or one does not rise, naming the two.
    TimingError
        If a speed is negative or not a finite number.
    """
    speeds = within(rpm, "the speed of a node", low=0, unit="rpm")
    if speeds.ndim != 1:
        raise CurveError("the speeds of the nodes must be a list")
    if not speeds.size:
        raise CurveError("a curve needs at least one node")
    falling = np.flatnonzero(np.diff(speeds) <= 0)
    if falling.size:
        before, after = speeds[falling[0] : falling[0] + 2]
        if before == after:
            raise CurveError(f"two nodes stand at {before:g} rpm; each speed may be named once")
        raise CurveError(f"the speeds of the nodes must rise, but {after:g} rpm comes after {before:g} rpm")
    return speeds


def _refuse_if_vertical(speeds: FloatArray, advances: FloatArray) -> None:
    with np.errstate(over="ignore"):
        steepness = 1000.0 * np.diff(advances) / np.diff(speeds)
    vertical = np.flatnonzero(~np.isfinite(steepness))
    if vertical.size:
        raise CurveError(f"the curve is too steep above {speeds[vertical[0]]:g} rpm to be calculated with")
