"""What a programmable unit can hold, how a map is fitted to it, keyed in and read back."""

from timing.unit.unit_type import (
    BoostNodes,
    EntryWord,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitError,
    UnitType,
)

__all__ = [
    "BoostNodes",
    "EntryWord",
    "FixedNodes",
    "FreeNodes",
    "RampEntries",
    "Steps",
    "TableEntries",
    "UnitError",
    "UnitType",
]
