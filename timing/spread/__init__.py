"""How figures of several cars spread: middle, quarters, shares and bands, and what so few cars can tell."""

from timing.spread.band import AdvanceBand, advance_band, band_of, totals, vacuum_band
from timing.spread.change import Change, change_of
from timing.spread.middle import middle_map
from timing.spread.sample import FEWEST, Spread, spread_of
from timing.spread.share import Share, share_of

__all__ = [
    "FEWEST",
    "AdvanceBand",
    "Change",
    "Share",
    "Spread",
    "advance_band",
    "band_of",
    "change_of",
    "middle_map",
    "share_of",
    "spread_of",
    "totals",
    "vacuum_band",
]
