"""The refusal of the statistics."""

from timing.errors import TimingError


class RegressionError(TimingError):
    """Readings from which the figures asked for cannot be worked out."""
