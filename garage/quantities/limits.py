"""Sanity limits on a figure, with the limits in the refusal: 'between 4 and 20' helps where 'invalid' does not."""

from django.core.exceptions import ValidationError
from django.utils.deconstruct import deconstructible

from garage.quantities.words import plain


@deconstructible
class Between:
    """A validator for a figure from `low` to `high`, both allowed, in `unit`."""

    def __init__(self, low: float, high: float, unit: str = "") -> None:
        self.low, self.high, self.unit = low, high, unit

    def __call__(self, value: float) -> None:
        if not self.low <= value <= self.high:
            spaced = f" {self.unit}" if self.unit else ""
            raise ValidationError(
                f"Must be between {plain(self.low)} and {plain(self.high)}{spaced}.", code="out_of_range"
            )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Between) and (self.low, self.high, self.unit) == (
            other.low,
            other.high,
            other.unit,
        )

    def __hash__(self) -> int:
        return hash((self.low, self.high, self.unit))
