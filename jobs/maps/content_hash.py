"""The seal of a released version: one hash over the wanted map and over what the unit holds of it."""

import hashlib
import json

from timing.ignition_map import IgnitionMap


def seal_of(wanted: IgnitionMap, held: IgnitionMap) -> str:
    """SHA-256 over the canonical forms of both, in 64 hexadecimal digits: the same on every machine."""
    text = json.dumps(
        {"wanted": wanted.canonical(), "held": held.canonical()},
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=True,
        allow_nan=False,
    )
    return hashlib.sha256(text.encode("ascii")).hexdigest()
