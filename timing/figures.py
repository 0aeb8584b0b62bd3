"""Results made of several arrays: kept unwritable, compared by their figures, and usable as keys."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np


def _key(value: object) -> object:
    if isinstance(value, np.ma.MaskedArray):
        return value.shape, value.filled(0).tobytes(), np.ma.getmaskarray(value).tobytes()
    if isinstance(value, np.ndarray):
        return value.shape, (value + 0).tobytes()  # adding 0 turns minus zero, which equals zero, into zero
    return value


class Figures:
    """What a frozen dataclass of arrays needs to be a value; the dataclass itself is made with `eq=False`."""

    __slots__ = ()

    def __post_init__(self) -> None:
        for field in fields(self):  # type: ignore[arg-type]
            value = getattr(self, field.name)
            if isinstance(value, np.ndarray):
                value.flags.writeable = False

    def _figures(self) -> tuple[object, ...]:
        return tuple(_key(getattr(self, field.name)) for field in fields(self))  # type: ignore[arg-type]

    def __eq__(self, other: Any) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return bool(self._figures() == other._figures())

    def __hash__(self) -> int:
        return hash((type(self), self._figures()))
