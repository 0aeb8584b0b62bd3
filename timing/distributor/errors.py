"""The refusals of this room."""

from __future__ import annotations

from timing.errors import TimingError


class DistributorError(TimingError):
    """Figures of a distributor that cannot belong together."""
