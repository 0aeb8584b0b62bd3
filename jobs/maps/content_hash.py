"""The content hash of a released version, which the screen calls its seal."""

import hashlib
import json
from typing import Any

from garage.units.models import UnitTypeRevision
from jobs.maps.stored_map import to_json
from timing.ignition_map import IgnitionMap

# What is hashed, by its number. A version says by which form it was hashed and is verified by that one for ever.
# 1: the map and what the unit delivers of it, and not the description of the unit, by which both are keyed in.
# 2: that description too.
FIRST_FORM, NEWEST_FORM = 1, 2


def content_hash_of(
    *, target: IgnitionMap, delivered: IgnitionMap, revision: UnitTypeRevision, form: int = NEWEST_FORM
) -> str:
    """SHA-256 over the canonical JSON of a version, in 64 hexadecimal digits: the same on every machine.

    Raises
    ------
    LookupError
        If there is no such form.
    """
    text = json.dumps(
        _content(target, delivered, revision, form),
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=True,
        allow_nan=False,
    )
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _content(target: IgnitionMap, delivered: IgnitionMap, revision: UnitTypeRevision, form: int) -> dict[str, Any]:
    if form == FIRST_FORM:
        return {"wanted": to_json(target), "held": to_json(delivered)}
    if form == NEWEST_FORM:
        return {
            "form": form,
            "target": to_json(target),
            "delivered": to_json(delivered),
            # The name of a type is for people; that this row is meant is said by its key.
            "unit": {
                "type": revision.unit_type_id,
                "revision": revision.number,
                "capability": revision.capability,
            },
        }
    raise LookupError(f"a version hashed by form {form} was made by a later release")
