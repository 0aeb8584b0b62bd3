"""A distributor as four bodies that are turned and looked at: cam with rotor, plate, body and cap.

The outside judge of the rotor's setting: no formula of `timing`, only bodies that carry one another round, contacts
that open where a lobe meets the heel (found by trial), and a look at where the tip stands at that moment.
"""

import cmath
import math
from dataclasses import dataclass, replace
from itertools import pairwise

from scipy.optimize import brentq


def turned(degrees):
    """A turn about the shaft, as a complex number of length 1."""
    return cmath.exp(1j * math.radians(degrees))


def angle(place):
    """Where a place lies round the shaft, -180 to 180 degrees."""
    return math.degrees(cmath.phase(place))


@dataclass(frozen=True)
class FourBodies:
    """Angles as seen from above, positive clockwise. Each is how one body sits on the body that carries it."""

    clockwise: bool  # how the shaft turns
    crank_turns: float
    lobe_on_cam: float
    tip_on_cam: float
    cam_on_shaft: float
    heel_on_plate: float
    plate_on_body: float
    body_on_engine: float
    post_on_cap: float
    cap_on_body: float

    def cam(self, crank):
        """Cam and rotor, one piece, at a crank angle after top dead centre."""
        shaft = turned((1 if self.clockwise else -1) * crank / self.crank_turns)
        return shaft * turned(self.cam_on_shaft)

    def lobe(self, crank):
        return self.cam(crank) * turned(self.lobe_on_cam)

    def tip(self, crank):
        return self.cam(crank) * turned(self.tip_on_cam)

    @property
    def heel(self):
        return turned(self.body_on_engine) * turned(self.plate_on_body) * turned(self.heel_on_plate)

    @property
    def post(self):
        return turned(self.body_on_engine) * turned(self.cap_on_body) * turned(self.post_on_cap)

    def tip_to_post(self, crank):
        """Degrees of the distributor from the tip onward to its terminal, positive while it is not there yet."""
        gap = angle(self.post / self.tip(crank))
        return gap if self.clockwise else -gap

    def opens_at(self):
        """Crank degrees before top dead centre at which the contacts open."""
        return -self._when(lambda crank: angle(self.lobe(crank) / self.heel))

    def in_line_at(self):
        """Crank degrees before top dead centre at which tip and terminal are in line."""
        return -self._when(lambda crank: angle(self.tip(crank) / self.post))

    def _when(self, apart):
        """The crank angle of the working cycle at which two places meet, stepped for and then closed in on."""
        half = 180 * self.crank_turns
        # A step more than the cycle: where they meet at its very ends, rounding may hide it on both sides.
        steps = [-half + half * step / 45 for step in range(92)]
        for before, after in pairwise(steps):
            # They meet where the gap changes sign without jumping from one end of the circle to the other.
            if apart(before) * apart(after) <= 0 and abs(apart(before) - apart(after)) < 90:
                return brentq(apart, before, after, xtol=1e-11)
        raise AssertionError("they never meet")

    def moved(self, part, degrees):
        """Another distributor with one part moved, positive with the rotor's own turn."""
        seat = {
            "plate or pick-up": "plate_on_body",
            "body": "body_on_engine",
            "rotor": "tip_on_cam",
            "cap": "cap_on_body",
            "weights": "cam_on_shaft",
        }[part]
        onward = degrees if self.clockwise else -degrees
        return replace(self, **{seat: getattr(self, seat) + onward})
