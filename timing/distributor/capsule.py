"""Whether the vacuum capsule moves the plate as its data say: where it begins, how fast it rises, how far it goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.distributor.capsule_limits import DEFAULT_CAPSULE_LIMITS, CapsuleKind, CapsuleLimits
from timing.distributor.errors import DistributorError
from timing.distributor.ramp_fit import Likely, RampFit, fit_ramp
from timing.inputs import FloatArray, within
from timing.tolerance import exceeds, falls_short
from timing.units import HIGHEST_BAROMETER_KPA
from timing.vacuum import VacuumRamp

# Fewer readings than figures of a ramp cannot show one.
_FEWEST_BELOW = 3

# The difference of two readings is beyond its scatter when it is this many of its standard deviations: as seldom as
# one in a hundred, looked at on one side.
_BEYOND_SCATTER = 2.33

# Standard errors either way that hold the mean in 95 of 100 cases, the scatter of a reading being known.
_LIKELY = 1.96

# A begin whose likely range is as many times its limit is not known at all. Readings 20 kPa apart are below.
_UNKNOWN = 6.0

# The largest difference of many pairs is beyond its scatter from half as much more.
_ONE_OF_MANY = 1.5

# Readings no further apart were taken at one vacuum. [kPa]
_SAME_VACUUM_KPA = 1.0


@dataclass(frozen=True, slots=True)
class CapsuleFinding:
    """One finding on the capsule's advance, with the sentences for the mechanic."""

    kind: CapsuleKind
    sentence: str


@dataclass(frozen=True, slots=True)
class CapsuleComparison:
    """A capsule's advance against its data, made by `compare_capsule`.

    Attributes
    ----------
    off : tuple of float
        Each reading less the data's advance, in the order given. [degrees of crank]
    begins_kpa : Likely or None
        Vacuum at which the advance leaves 0. None where the readings show no ramp. [kPa below atmosphere]
    rise_deg : Likely or None
        What it gains over the vacuum in which the data gain all theirs, at the slope of its rise.
        [degrees of crank]
    full_deg : Likely or None
        Advance once complete. [degrees of crank]
    falls_back_kpa : float or None
        Vacuum of the first reading at which the advance has fallen back. [kPa below atmosphere]
    falls_back_deg : Likely or None
        By how much, on average over that reading and those above it. [degrees of crank]
    findings : tuple of CapsuleFinding
        At least one.
    """

    off: tuple[float, ...]
    begins_kpa: Likely | None
    rise_deg: Likely | None
    full_deg: Likely | None
    falls_back_kpa: float | None
    falls_back_deg: Likely | None
    findings: tuple[CapsuleFinding, ...]

    @property
    def kinds(self) -> frozenset[CapsuleKind]:
        """The kinds found."""
        return frozenset(finding.kind for finding in self.findings)


def compare_capsule(
    degrees: ArrayLike, data: VacuumRamp, *, vacuum_kpa: ArrayLike, limits: CapsuleLimits = DEFAULT_CAPSULE_LIMITS
) -> CapsuleComparison:
    """Compare the advance the capsule gives, at a steady speed, with its data.

    A ramp is fitted to the readings. Each of its figures is called wrong only where its whole likely range lies
    beyond the limit; readings that follow no ramp say whether the advance falls back or sticks.

    Parameters
    ----------
    degrees : array, shape (n,)
        Advance read less the advance read without vacuum. [degrees of crank]
    data : VacuumRamp
        Where the data say it begins and is full, and by how much.
    vacuum_kpa : array, shape (n,)
        Vacuum applied, 0 or more, in the order of `degrees`. [kPa below atmosphere]
    limits : CapsuleLimits
        How far off it may be, and how readings scatter.

    Returns
    -------
    CapsuleComparison
        The figures with their likely ranges, and what they come to.

    Raises
    ------
    DistributorError
        If lists differ in length or are empty.
    TimingError
        If a figure is not finite or out of its range.

    References
    ----------
    `timing.distributor.ramp_fit`; limits are common practice, no source.
    """
    applied = within(vacuum_kpa, "vacuum", low=0.0, high=HIGHEST_BAROMETER_KPA, unit="kPa")
    moved = within(degrees, "an advance of the capsule", low=-90.0, high=90.0, unit="degrees")
    if applied.ndim != 1 or not applied.size:
        raise DistributorError("the capsule's readings must be a list of vacua and a list of advances")
    if applied.shape != moved.shape:
        raise DistributorError(f"{applied.size} vacua but {moved.size} advances: each reading needs one of each")
    order = np.argsort(applied, kind="stable")
    off = tuple((moved - np.interp(applied, (data.start, data.full), (0.0, data.full_deg))).tolist())
    return _Readings(applied[order], moved[order], data, limits).compared(off)


@dataclass(frozen=True, slots=True)
class _Readings:
    """Readings in the order of vacuum, with what they are judged by."""

    vacua: FloatArray
    advances: FloatArray
    data: VacuumRamp
    limits: CapsuleLimits

    @property
    def scatter(self) -> float:
        """Of one reading, rounding to the scale's step included. [degrees of crank]"""
        return float(np.hypot(self.limits.scatter_deg, self.limits.step_deg / np.sqrt(12.0)))

    @property
    def _due(self) -> FloatArray:
        """What the data give at each vacuum. [degrees of crank]"""
        return np.asarray(np.interp(self.vacua, (self.data.start, self.data.full), (0.0, self.data.full_deg)))

    @property
    def _apart(self) -> float:
        """Two readings further apart differ by more than their scatter. [degrees of crank]"""
        return _BEYOND_SCATTER * self.scatter * float(np.sqrt(2.0))

    def _stands(self) -> bool:
        """Whether nothing moves where half of the data's advance or more is due."""
        due = self._due
        moving = due >= due.max() / 2.0
        highest, mean = float(self.advances.max()), float(self.advances[moving].mean())
        return (
            not falls_short(float(due.max()), self.limits.deg)
            and falls_short(mean, self.limits.deg)
            and falls_short(highest, self.limits.deg + self._apart)
        )

    def compared(self, off: tuple[float, ...]) -> CapsuleComparison:
        data, limits = self.data, self.limits
        if not exceeds(float(self.vacua[-1]), data.start + limits.kpa):
            nothing = f"Not enough vacuum: take readings above {data.start:.0f} kPa, where the advance should begin."
            return _untold(off, CapsuleKind.CANNOT_TELL, nothing)
        if self._stands():
            due = float(self._due.max())
            still = (
                f"The capsule does not move the plate: {self.advances.max():.1f}° at {self.vacua[-1]:.0f} kPa, "
                f"{due:.1f}° due. Look for a torn diaphragm, a blocked pipe or a seized plate."
            )
            return _untold(off, CapsuleKind.DOES_NOT_MOVE, still)
        fit = self.fit()
        if fit.is_a_ramp:
            return self._ramp(fit, off)
        fallen = self._falls_back()
        if fallen is not None:
            return self._fallen(*fallen, off)
        return _untold(off, *self._no_ramp())

    def fit(self) -> RampFit:
        return fit_ramp(self.advances, vacuum_kpa=self.vacua, scatter_deg=self.scatter)

    def _first(self, count: int) -> _Readings:
        return _Readings(self.vacua[:count], self.advances[:count], self.data, self.limits)

    def _falls_back(self) -> tuple[int, Likely] | None:
        """The first of the last readings that lie below the ramp of all before them, and by how much they do."""
        for first in range(len(self.vacua) - 1, _FEWEST_BELOW - 1, -1):
            if self.vacua[first] - self.vacua[first - 1] <= _SAME_VACUUM_KPA:
                continue  # at one vacuum nothing has fallen back yet
            before = self._first(first).fit()
            below = before.at(self.vacua[first:]) - self.advances[first:]
            # A ramp that was not full yet is not carried on: only what was there can be lost.
            below = np.minimum(below, self.advances[:first].max() - self.advances[first:])
            half = _LIKELY * self.scatter / float(np.sqrt(len(below)))
            lost = Likely(float(below.mean()), float(below.mean()) - half, float(below.mean()) + half)
            if before.is_a_ramp and exceeds(lost.low, self.limits.deg) and (below > 0.0).all():
                return first, lost
        return None

    def _no_ramp(self) -> tuple[CapsuleKind, str]:
        """What readings come to that follow no ramp and do not fall back."""
        gaps, steps = np.diff(self.vacua), np.diff(self.advances)
        again = np.flatnonzero((gaps <= _SAME_VACUUM_KPA) & (np.abs(steps) > self._apart))
        if again.size:
            at = int(again[0])
            return CapsuleKind.STICKS, (
                f"The plate sticks: two readings at {self.vacua[at]:.0f} kPa are {abs(steps[at]):.1f}° apart. "
                "Free the plate and its pivot, then read again, vacuum rising and falling."
            )
        odd, misfit = self._odd_one_out()
        held = np.flatnonzero(self._lags())
        # A plate that sticks lags behind and never goes back; a reading too high lags behind nothing but itself.
        went_back = bool((steps[gaps > _SAME_VACUUM_KPA] < -_ONE_OF_MANY * self._apart).any())
        if held.size and not went_back and not (misfit > 0.0 and set(held) <= {odd}):
            at = int(held[np.argmax(np.diff(self._due)[held] - steps[held])])
            return CapsuleKind.STICKS, (
                f"The plate sticks: from {self.vacua[at]:.0f} kPa on the advance stays near "
                f"{self.advances[at]:.1f}°, then catches up. Free the plate and its pivot, then read again."
            )
        if odd is not None:
            return self._odd(odd, misfit)
        return CapsuleKind.CANNOT_TELL, (
            "The readings scatter too much to show a ramp. Hold the speed steady and read again."
        )

    def _odd_one_out(self) -> tuple[int | None, float]:
        """The one reading without which the others best follow a ramp, if they do, and how far above it that one is."""
        fits = [self._without(at).fit() for at in range(len(self.vacua))]
        at = int(np.argmin([fit.squares for fit in fits]))
        misfit = float(self.advances[at] - fits[at].at(self.vacua)[at])
        return (at if fits[at].is_a_ramp else None), misfit

    def _without(self, at: int) -> _Readings:
        return _Readings(np.delete(self.vacua, at), np.delete(self.advances, at), self.data, self.limits)

    def _odd(self, at: int, misfit: float) -> tuple[CapsuleKind, str]:
        way = "above" if misfit > 0 else "below"
        return CapsuleKind.CANNOT_TELL, (
            f"The reading at {self.vacua[at]:.0f} kPa is {abs(misfit):.1f}° {way} the line of the others. "
            "Take it again, and one on either side."
        )

    def _lags(self) -> NDArray[np.bool_]:
        """From which readings on the advance lags behind the data's rise, over the next reading or the next two."""
        due = self._due
        under_way = (self.advances > self.limits.deg) & (self.advances < self.advances.max() - self.limits.deg)
        behind = np.zeros(len(self.vacua), dtype=bool)
        for ahead in (1, 2):
            lag = (due[ahead:] - due[:-ahead]) - (self.advances[ahead:] - self.advances[:-ahead])
            behind[:-ahead] |= lag > self._apart
        return np.asarray(behind & under_way, dtype=np.bool_)

    def _ramp(self, fit: RampFit, off: tuple[float, ...]) -> CapsuleComparison:
        rise = self._rise_of(fit)
        findings = (*self._begin(fit.start_kpa), *self._rise(rise, fit), *self._full(fit))
        if not findings:
            sentence = (
                f"The capsule moves as its data say. It begins {_between(fit.start_kpa)} and gives "
                f"{_span(fit.full_deg)}."
            )
            findings = (CapsuleFinding(CapsuleKind.AS_DATA, sentence),)
        return CapsuleComparison(off, fit.start_kpa, rise, fit.full_deg, None, None, findings)

    def _fallen(self, first: int, lost: Likely, off: tuple[float, ...]) -> CapsuleComparison:
        """What readings come to of which those from `first` on have fallen back: the ramp is that of the others."""
        before = self._first(first)
        fit = before.fit()
        rise = self._rise_of(fit)
        kpa = float(self.vacua[first])
        once = "Read it again before anything is renewed. " if first == len(self.vacua) - 1 else ""
        sentence = (
            f"The advance falls back at {kpa:.0f} kPa, by {_span(lost)}. {once}"
            "Look for a diaphragm or pipe that gives way under high vacuum."
        )
        others = (*before._begin(fit.start_kpa), *before._rise(rise, fit), *before._full(fit))
        findings = (
            CapsuleFinding(CapsuleKind.FALLS_BACK, sentence),
            # That the full advance was not read is no news where it was lost on the way.
            *(finding for finding in others if finding.kind is not CapsuleKind.CANNOT_TELL),
        )
        return CapsuleComparison(off, fit.start_kpa, rise, fit.full_deg, kpa, lost, findings)

    def _rise_of(self, fit: RampFit) -> Likely:
        span = self.data.full - self.data.start
        return Likely(*(slope * span for slope in fit.slope_deg_per_kpa))

    def _begin(self, begins: Likely) -> Iterator[CapsuleFinding]:
        due, slack = self.data.start, self.limits.kpa
        text = f"{_between(begins)}; the data say {due:.0f} kPa."
        if exceeds(begins.low, due + slack):
            yield CapsuleFinding(
                CapsuleKind.BEGINS_LATE,
                f"The advance begins late, {text} Look for a stiff plate, a strong spring or a small leak.",
            )
        elif falls_short(begins.high, due - slack):
            yield CapsuleFinding(
                CapsuleKind.BEGINS_EARLY,
                f"The advance begins early, {text} Look for a weak spring or another distributor's capsule.",
            )
        elif exceeds(begins.high - begins.low, _UNKNOWN * slack):
            yield CapsuleFinding(
                CapsuleKind.CANNOT_TELL,
                f"Not known where the advance begins: {_between(begins)}. "
                f"Take readings just below and just above {due:.0f} kPa.",
            )

    def _rise(self, rise: Likely, fit: RampFit) -> Iterator[CapsuleFinding]:
        due, slack = self.data.full_deg, self.limits.deg
        text = f"where the data gain {due:.1f}°."
        if falls_short(rise.high, due - slack):
            yield CapsuleFinding(
                CapsuleKind.RISES_SLOWLY,
                f"The advance rises too slowly: it gains {rise.high:.1f}° or less {text} "
                "Look for a strong spring, a leak or a stiff plate.",
            )
        # What goes too far rises fast as well: `_full` says it once.
        elif exceeds(rise.low, due + slack) and not exceeds(fit.full_deg.low, due + slack):
            yield CapsuleFinding(
                CapsuleKind.RISES_FAST,
                f"The advance rises too fast: it gains {rise.low:.1f}° or more {text} "
                "Look for a weak spring or another distributor's capsule.",
            )

    def _full(self, fit: RampFit) -> Iterator[CapsuleFinding]:
        full, due, slack = fit.full_deg, self.data.full_deg, self.limits.deg
        text = f"{_span(full)}; the data say {due:.1f}°."
        if falls_short(full.high, due - slack):
            yield CapsuleFinding(
                CapsuleKind.SHORT_OF_FULL,
                f"The full advance is short, {text} Look for a leak, a sticking plate or another capsule.",
            )
        elif exceeds(full.low, due + slack):
            yield CapsuleFinding(
                CapsuleKind.TOO_MUCH,
                f"The full advance is too much, {text} Look for another distributor's capsule or stop.",
            )
        elif falls_short(float(self.vacua[-1]), self.data.full):
            yield CapsuleFinding(
                CapsuleKind.CANNOT_TELL,
                f"Not known whether it comes to full advance: no reading at {self.data.full:.0f} kPa or more.",
            )


def _untold(off: tuple[float, ...], kind: CapsuleKind, sentence: str) -> CapsuleComparison:
    return CapsuleComparison(off, None, None, None, None, None, (CapsuleFinding(kind, sentence),))


def _span(figure: Likely) -> str:
    return f"{figure.low:.1f} to {figure.high:.1f}°"


def _between(vacuum_kpa: Likely) -> str:
    low, high = f"{vacuum_kpa.low:.0f}", f"{vacuum_kpa.high:.0f}"
    return f"at {low} kPa" if low == high else f"between {low} and {high} kPa"
