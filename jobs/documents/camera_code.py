"""The code for a camera that papers carry: the whole map as text, readable without a network and without us."""

from dataclasses import dataclass
from typing import Any

import segno

from jobs.maps.stored_map import from_json
from timing.map_text import map_to_text

# Of every hundred squares fifteen may be scratched or greasy (ISO/IEC 18004, level M).
SOUND_ENOUGH = "m"
# The edge that a camera needs to find it, in squares.
EDGE = 4


@dataclass(frozen=True, slots=True)
class CameraCode:
    """A code as a picture, and the text that is in it."""

    uri: str
    text: str


def camera_code(facts: dict[str, Any]) -> CameraCode | None:
    """The code of the map in `facts`, the `document_data`; None while no map is proven in the car."""
    found = facts["map"]
    if not found:
        return None
    labels = {
        "CAR": facts["car"]["registration"],
        "JOB": facts["job"]["code"],
        "VERSION": str(found["number"]),
        "UNIT": found["unit_type"],
        "DATE": facts["made_at"][:10],
    }
    text = map_to_text(from_json(found["target"]), labels)
    code = segno.make(text, error=SOUND_ENOUGH, boost_error=False, micro=False)
    return CameraCode(code.svg_data_uri(border=EDGE, dark="#000", light="#fff"), text)
