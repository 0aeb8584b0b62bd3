"""What a programmable unit can hold, how a map is fitted to it, keyed in and read back."""

from timing.unit.entries import (
    BoostNodes,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitError,
)
from timing.unit.fit_notes import UnitCannotHold
from timing.unit.fitting import FittedMap, Variant, fit_map
from timing.unit.keying import KeyInLine, Mismatch, ReadBack, key_in_lines, read_back
from timing.unit.unit_type import CHOICES, EntryKey, EntryWord, UnitType

__all__ = [
    "CHOICES",
    "BoostNodes",
    "EntryKey",
    "EntryWord",
    "FittedMap",
    "FixedNodes",
    "FreeNodes",
    "KeyInLine",
    "Mismatch",
    "RampEntries",
    "ReadBack",
    "Steps",
    "TableEntries",
    "UnitCannotHold",
    "UnitError",
    "UnitType",
    "Variant",
    "fit_map",
    "key_in_lines",
    "read_back",
]
