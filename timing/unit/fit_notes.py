"""What fitting a map to a unit costs, noted in words, and the refusal where no cost would do."""

from __future__ import annotations

from dataclasses import dataclass, field

from timing.unit.entries import Steps, UnitError

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
    """The sentences gathered on the way: what had to be rounded, and what the map leaves open."""

    costs: list[str] = field(default_factory=list)
    unset: list[str] = field(default_factory=list)

    def moved(self, what: str, wanted: float, held: float, unit: str) -> None:
        """Note that `what` is held as another figure, if it is."""
        if abs(held - wanted) > SAME:
            asked, kept = told_apart(wanted, held)
            self.costs.append(f"{what}, {asked} {unit}, is held as {kept}")

    def strays(self, what: str, error: float, where: str) -> None:
        """Note by how much `what` is off at worst, if it is. [degrees of crank, positive is too much]"""
        if abs(error) > SAME:
            more_or_less = "more" if error > 0 else "less"
            self.costs.append(f"{what} is up to {abs(error):.2g} degrees {more_or_less} than wanted, at {where}")


def told_apart(wanted: float, held: float) -> tuple[str, str]:
    """Both figures in as few places after the point as still tell them apart, two at the least."""
    for places in range(2, 6):
        asked, kept = _plain(wanted, places), _plain(held, places)
        if asked != kept:
            break
    return asked, kept


def _plain(figure: float, places: int) -> str:
    text = f"{figure:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def span_of(steps: Steps) -> str:
    """The range of an entry, in words."""
    return f"{steps.text(steps.low)} to {steps.text(steps.high)}"
