"""What fitting a map to a unit costs, noted in words, and the refusal where no cost would do."""

from __future__ import annotations

from dataclasses import dataclass, field

from timing.minus import with_minus
from timing.tolerance import falls_short
from timing.unit.entries import Steps, UnitError

_WORTH_SAYING = 0.1  # [of a step, and of a degree]

# Below this two figures are one, in any unit: above what `Steps` takes for noise, far below a unit's step.
SAME = 1e-6


class UnitCannotHold(UnitError):  # noqa: N818 - reads as the sentence it is: unit cannot hold the map
    """The unit cannot hold the map.

    Attributes
    ----------
    problems : tuple of str
        One sentence for each thing that it cannot hold, and where.
    """

    def __init__(self, *problems: str) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems


@dataclass(slots=True)
class FitNotes:
    """The sentences gathered on the way: what had to be rounded, and what the map leaves open.

    What rounds by less than a tenth of the unit's step, or of a degree, is not worth a sentence.
    """

    costs: list[str] = field(default_factory=list)
    unset: list[str] = field(default_factory=list)

    def moved(self, what: str, target: float, delivered: float, unit: str, step: float) -> None:
        """Note that `what` is keyed in as another figure, if it is by as much as is worth saying.

        Parameters
        ----------
        what : str
            The entry.
        target, delivered : float
            What the map says, and what the unit then holds. [`unit`]
        unit : str
            Printed after the figure.
        step : float
            Step of the entry. [`unit`]
        """
        if not falls_short(abs(delivered - target), _WORTH_SAYING * step):
            asked, kept = told_apart(target, delivered)
            self.costs.append(f"{what}, {asked} {unit}, is keyed in as {kept}")

    def strays(self, what: str, error: float, where: str) -> None:
        """Note by how much `what` is off at worst, if it is by as much as is worth saying.

        Parameters
        ----------
        what : str
            The part of the map.
        error : float
            Delivered less target at the worst place. [degrees of crank, positive is too much]
        where : str
            The worst place.
        """
        if not falls_short(abs(error), _WORTH_SAYING):
            more_or_less = "more" if error > 0 else "less"
            self.costs.append(f"{what} is up to {abs(error):.2g} degrees {more_or_less} than set, at {where}")


def told_apart(target: float, delivered: float) -> tuple[str, str]:
    """Both figures in as few places after the point as still tell them apart, two at the least.

    Parameters
    ----------
    target, delivered : float
        Figures of one unit.

    Returns
    -------
    str, str
        The figures.
    """
    for places in range(2, 6):
        asked, kept = _plain(target, places), _plain(delivered, places)
        if asked != kept:
            break
    return asked, kept


def _plain(figure: float, places: int) -> str:
    text = f"{figure:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else with_minus(text)


def span_of(steps: Steps) -> str:
    """The range of an entry, in words."""
    return f"{steps.text(steps.low)} to {steps.text(steps.high)}"
