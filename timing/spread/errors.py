"""What cannot be summed up."""

from timing.errors import TimingError


class SpreadError(TimingError):
    """Figures that say nothing together."""
