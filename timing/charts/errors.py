"""The refusal of the drawing room."""

from timing.errors import TimingError


class ChartError(TimingError):
    """Something that cannot be drawn. The message says which layer and which figure."""
