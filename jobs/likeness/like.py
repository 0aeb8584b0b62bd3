"""Which engines are like one another: the same family, or figures within tolerances that people see."""

from dataclasses import dataclass, field, replace
from math import pi
from typing import Any
from urllib.parse import urlencode

from django.db.models import ExpressionWrapper, F, FloatField, Q

from garage.quantities.words import bare, plain
from garage.vehicles.models import Engine, Strokes

# cm³ are π/4 · bore² · stroke · cylinders / 1000 with bore and stroke in mm.
CC_OF_PRODUCT = pi / 4000


@dataclass(frozen=True, slots=True)
class Tolerances:
    """How far two engines may be apart and still be like one another (common practice, no source).

    A start curve needs a like engine, not the same. Whoever looks sees them and may change them.
    """

    displacement_percent: float = 10.0
    compression: float = 0.5
    fuel_ron: float = 3.0


@dataclass(frozen=True, slots=True)
class Likeness:
    """What an engine has to be to count. What is None or empty is not asked; an engine not known in a figure that is
    asked for is left out.
    """

    family: str = ""
    cylinders: int | None = None
    strokes: int | None = None
    displacement_cc: float | None = None
    compression: float | None = None
    fuel_ron: float | None = None
    boosted: bool | None = None
    tolerances: Tolerances = field(default_factory=Tolerances)

    @property
    def asks_for_an_engine(self) -> bool:
        """Whether anything narrows it down to one sort of engine."""
        return bool(self.family or self.cylinders or self.displacement_cc)

    def of_engine(self, path: str = "") -> Q:
        """The condition on an engine, reached by the lookup `path` such as 'job__vehicle__engine__'."""
        asked = Q()
        same = {"cylinders": self.cylinders, "strokes": self.strokes, "boosted": self.boosted}
        asked &= Q(**{f"{path}{name}": value for name, value in same.items() if value is not None})
        if self.family:
            asked &= Q(**{f"{path}family__iexact": self.family})
        near = (
            ("compression_ratio", self.compression, self.tolerances.compression),
            ("fuel_ron", self.fuel_ron, self.tolerances.fuel_ron),
        )
        for name, value, tolerance in near:
            if value is not None:
                asked &= Q(**{f"{path}{name}__range": (value - tolerance - ROUNDING, value + tolerance + ROUNDING)})
        if self.displacement_cc is not None:
            share = self.tolerances.displacement_percent / 100
            ends = (self.displacement_cc * (1 - share) - ROUNDING, self.displacement_cc * (1 + share) + ROUNDING)
            asked &= Q(displacement_product__range=tuple(end / CC_OF_PRODUCT for end in ends))
        return asked

    def annotations(self, path: str = "") -> dict[str, Any]:
        """What a query has to be annotated with before `of_engine` can be asked of it."""
        if self.displacement_cc is None:
            return {}
        bore, stroke, cylinders = (F(f"{path}{name}") for name in ("bore_mm", "stroke_mm", "cylinders"))
        product = ExpressionWrapper(bore * bore * stroke * cylinders, output_field=FloatField())
        return {"displacement_product": product}

    def query(self) -> str:
        """The same as the part of an address: what the form of the learned page is filled in with."""
        asked = {
            "family": self.family,
            "cylinders": self.cylinders,
            "strokes": self.strokes,
            "displacement_cc": self.displacement_cc and bare(round(self.displacement_cc)),
            "displacement_percent": bare(self.tolerances.displacement_percent),
            "compression": self.compression and bare(self.compression),
            "compression_within": bare(self.tolerances.compression),
            "fuel_ron": self.fuel_ron and bare(self.fuel_ron),
            "fuel_within": bare(self.tolerances.fuel_ron),
            "boosted": "" if self.boosted is None else "yes" if self.boosted else "no",
        }
        return urlencode({name: value for name, value in asked.items() if value})

    def words(self) -> list[str]:
        """What is asked for, each with its tolerance: 'displacement 1,500 cc ± 10 %'."""
        near = self.tolerances
        said = [
            (self.family, f"family {self.family}"),
            (self.cylinders, f"{self.cylinders} cylinders"),
            (self.strokes == Strokes.TWO, "two-stroke"),
            (
                self.displacement_cc,
                f"displacement {plain(round(self.displacement_cc or 0))} cc ± {plain(near.displacement_percent)}%",
            ),
            (self.compression, f"compression {plain(self.compression or 0)} ± {plain(near.compression)}"),
            (self.fuel_ron, f"fuel {plain(self.fuel_ron or 0)} ± {plain(near.fuel_ron)} RON"),
            (self.boosted, "supercharged or turbocharged"),
        ]
        return [words for asked, words in said if asked]


ROUNDING = 1e-6  # what lies exactly on a tolerance keeps it, whatever the last bit of a sum says


def displacement_cc(engine: Engine) -> float | None:
    """The displacement of `engine`, from bore, stroke and cylinders; None where one is not known. [cm³]"""
    if engine.bore_mm is None or engine.stroke_mm is None or engine.cylinders is None:
        return None
    return engine.bore_mm**2 * engine.stroke_mm * engine.cylinders * CC_OF_PRODUCT


def likeness_of(engine: Engine, tolerances: Tolerances | None = None) -> Likeness:
    """What an engine has to be to be like `engine`: whatever is known of this one is asked for."""
    like = Likeness(
        family=engine.family.strip(),
        cylinders=engine.cylinders,
        strokes=engine.strokes,
        displacement_cc=displacement_cc(engine),
        compression=engine.compression_ratio,
        fuel_ron=engine.fuel_ron,
        boosted=engine.boosted,
    )
    return replace(like, tolerances=tolerances) if tolerances else like
