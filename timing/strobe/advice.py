"""The sentences that every verdict on a strobe session shares: how late, how sure, and what to do with one's hands."""

from __future__ import annotations

from collections.abc import Sequence

from timing.strobe.readings import LampKind

MARK_AGAIN = "Mark top dead centre again and look for a slipped damper ring, then read again."
LOOK_FOR_WEAR = "Check for shaft play, a worn drive and a weak strobe trigger."
LEAVE_IT = "Leave the distributor as it is."
DO_NOT_TURN = "Do not turn the distributor."

_LAMP_AGAIN = {
    LampKind.PLAIN: "Repeat with another strobe or lead.",
    LampKind.DIAL_BACK: "A dial-back lamp adds a delay of its own: set its dial to 0 and read the scale.",
    None: "Repeat with another strobe or lead; a dial-back lamp with its dial at 0.",
}


def late_or_early(degrees: float) -> str:
    """`1.5° late`, `1.5° early`, or `on its mark` where it rounds to nothing. [degrees of crank, late positive]"""
    if abs(degrees) < 0.05:
        return "on its mark"
    return f"{abs(degrees):.1f}° {'late' if degrees > 0 else 'early'}"


def likely(interval: tuple[float, float] | None) -> str:
    """A likely range of lateness in brackets, with a space before it; nothing for None. [degrees of crank]"""
    if interval is None:
        return ""
    low, high = interval
    if low < 0 < high:
        return f" (likely {-low:.1f}° early to {high:.1f}° late)"
    return f" (likely {span((low, high))}° {'late' if high > 0 else 'early'})"


def span(ends: Sequence[float], digits: int = 1) -> str:
    """The distance of two figures of one sign from 0, the nearer one first.

    Parameters
    ----------
    ends : sequence of two floats
        In any unit and order.
    digits : int
        Digits after the point.

    Returns
    -------
    str
        Such as `3.5 to 4.0`.
    """
    near, far = sorted(abs(end) for end in ends)
    return f"{near:.{digits}f} to {far:.{digits}f}"


def turn_the_body(turn_dist_deg: float) -> str:
    """What to do with the distributor. [degrees of the distributor, positive in the advancing direction]"""
    way = "advancing direction, against" if turn_dist_deg > 0 else "retarding direction, with"
    return (
        f"Turn the distributor body {abs(turn_dist_deg):.1f} distributor degrees in the {way} the turn of the rotor. "
        "Clamp it and read again."
    )


def mark_is_off(error_deg: float, limit_deg: float) -> str:
    """The part of a sentence that says the timing mark is wrong.

    Parameters
    ----------
    error_deg : float
        How far it is off the piston stop, either way. [degrees of crank]
    limit_deg : float
        How far it may be. [degrees of crank]

    Returns
    -------
    str
        Without a full stop.
    """
    return f"the timing mark is {abs(error_deg):.1f}° off the piston stop, {limit_deg:.1f}° is the limit"


def are_apart(apart_deg: float, *, rpm: float, limit_deg: float) -> str:
    """The part of a sentence that says two readings at one speed disagree.

    Parameters
    ----------
    apart_deg : float
        How far they are apart. [degrees of crank]
    rpm : float
        Their speed. [rpm at the crank]
    limit_deg : float
        How far they may be. [degrees of crank]

    Returns
    -------
    str
        Without a full stop.
    """
    return f"two readings at {rpm:.0f} rpm are {apart_deg:.1f}° apart, {limit_deg:.1f}° is the limit"


def about_a_delay(lamp: LampKind | None, *, later: bool, unit_takes_delay: bool) -> str:
    """What to do about an error that grows with speed as a constant time does.

    Parameters
    ----------
    lamp : LampKind or None
        The lamp it was read with, None if that is not known.
    later : bool
        Whether the spark comes later as the speed rises. Earlier, no delay can make it, but one that is allowed for
        twice.
    unit_takes_delay : bool
        Whether the fitted unit has an entry for a delay.

    Returns
    -------
    str
        Whole sentences.
    """
    if unit_takes_delay:
        then = "enter it in the unit." if later else "the delay entered in the unit is too large."
    else:
        then = "it is the unit's own: allow for it in the map."
    return f"{_LAMP_AGAIN[lamp]} If it stays, {then}"


def capitalised(sentence: str) -> str:
    """`sentence` with a capital first letter, the others as they are."""
    return sentence[:1].upper() + sentence[1:]
