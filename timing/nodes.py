"""Edits of some of a curve's nodes, counted from 0; the speeds of the nodes stay as they are."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from timing.curve import AdvanceCurve, CurveError
from timing.inputs import number, whole


def shift_nodes(curve: AdvanceCurve, which: Iterable[int], degrees: float) -> AdvanceCurve:
    """`curve` with `degrees` added at the nodes `which`. [degrees of crank]

    Raises
    ------
    CurveError
        If `which` names a node the curve does not have.
    TimingError
        If `degrees` is not a finite number.
    """
    by = number(degrees, "the shift")
    chosen, advances = _chosen(curve, which), np.array(curve.degrees)
    advances[chosen] += by
    return AdvanceCurve(curve.rpm, advances)


def scale_nodes(curve: AdvanceCurve, which: Iterable[int], factor: float) -> AdvanceCurve:
    """`curve` with the advance multiplied by `factor` at the nodes `which`.

    Raises
    ------
    CurveError
        If `which` names a node the curve does not have.
    TimingError
        If `factor` or a product is not a finite number.
    """
    by = number(factor, "the factor")
    chosen, advances = _chosen(curve, which), np.array(curve.degrees)
    with np.errstate(over="ignore"):
        advances[chosen] *= by
    return AdvanceCurve(curve.rpm, advances)


def smooth_nodes(curve: AdvanceCurve, which: Iterable[int], share: float = 0.5) -> AdvanceCurve:
    """`curve` with the nodes `which` drawn towards the line between their neighbours.

    All nodes move at once, each measured against its neighbours as they stood before. The first and the
    last node of the curve have only one neighbour and stay.

    Parameters
    ----------
    curve : AdvanceCurve
        The curve to smooth.
    which : iterable of int
        The nodes to smooth.
    share : float
        How far they move: 0 not at all, 1 on to the line.

    Raises
    ------
    CurveError
        If `which` names a node the curve does not have.
    TimingError
        If `share` is not between 0 and 1.
    """
    part = number(share, "the share to smooth by", low=0, high=1)
    rpm, before = np.array(curve.rpm), np.array(curve.degrees)
    inner = np.array([node for node in _chosen(curve, which) if 0 < node < rpm.size - 1], dtype=np.intp)
    run = (rpm[inner] - rpm[inner - 1]) / (rpm[inner + 1] - rpm[inner - 1])
    line = before[inner - 1] + run * (before[inner + 1] - before[inner - 1])
    after = before.copy()
    after[inner] += part * (line - before[inner])
    return AdvanceCurve(curve.rpm, after)


def ramp_between(curve: AdvanceCurve, first: int, last: int) -> AdvanceCurve:
    """`curve` with the nodes between `first` and `last` laid on a straight line.

    Raises
    ------
    CurveError
        If the curve has no such node, or `first` does not come before `last`.
    """
    start, end = _chosen(curve, (first, last))
    if start >= end:
        raise CurveError(f"a ramp runs from a lower node to a higher one, not from {start} to {end}")
    advances = np.array(curve.degrees)
    advances[start : end + 1] = np.interp(
        curve.rpm[start : end + 1],
        (curve.rpm[start], curve.rpm[end]),
        (curve.degrees[start], curve.degrees[end]),
    )
    return AdvanceCurve(curve.rpm, advances)


def _chosen(curve: AdvanceCurve, which: Iterable[int]) -> list[int]:
    last = len(curve.rpm) - 1
    chosen = [whole(node, "the number of a node") for node in which]
    for node in chosen:
        if not 0 <= node <= last:
            raise CurveError(f"the curve has nodes 0 to {last}, there is no node {node}")
    return chosen
