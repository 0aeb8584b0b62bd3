"""The settings of one car as they left the workshop, written from the data a paper is set from."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from garage.record.plain import Plain
from jobs.maps.stored_map import from_json
from jobs.settings_file.digests import OF_ALL, OF_THE_MAP, digest_of_all, digest_of_map
from jobs.settings_file.map_part import map_part
from jobs.settings_file.schema import NUMBER

FILE_NAME = "car-settings.json"


def car_settings(facts: Mapping[str, Any], *, paper: str, fitted: Sequence[Mapping[str, Any]]) -> Plain:
    """What goes along in a paper that names a map.

    Of the car's owner nothing is said: a paper may be given on with the car.

    Parameters
    ----------
    facts
        The `document_data` of the job, with the paper's number and who issued it; its map is there.
    paper
        Which kind of paper it goes along in.
    fitted
        The lines of the sheets that say what is in the car.
    """
    car, found, strobe = facts["car"], facts["map"], facts["strobe"]
    settings: Plain = {
        "schema_number": NUMBER,
        "written_at": facts["made_at"],
        "paper": {"kind": paper, "number": facts["number"], "issued_by": facts["issued_by"]},
        "workshop": {name: facts["workshop"][name] for name in ("name", "address", "phone", "email")},
        "job": {"code": facts["job"]["code"]},
        "car": {
            "registration": car["registration"],
            "make": car["maker"],
            "model": car["model"],
            "year": car["year"],
            "chassis_number": car["chassis_number"],
            "firing_order": car["firing_order"],
            "idle_rpm": car["idle_rpm"],
            "red_line_rpm": car["red_line_rpm"],
            "fuel_octane_ron": car["fuel_ron"],
            "system_voltage_v": car["volts"],
            "earth": car["earth"],
            "tachometer": car["tachometer"],
        },
        "unit": {
            "type": found["unit_type"],
            "revision": found["unit_revision"],
            "firmware": found["firmware"],
            "serial_number": found["serial_number"],
            "curve_counted_from": found["reckoning"],
        },
        "map": map_part(from_json(found["target"])),
        "map_version": {
            "number": found["number"],
            "author": found["author"],
            "released_by": found["released_by"],
            "released_at": found["released_at"],
            "checksum": found["seal"],
        },
        "entries": [
            {
                "position": line["position"],
                "on_the_unit": line["words"],
                "what_it_is": line["meaning"],
                "value": line["value"],
                "unit": line["unit"],
            }
            for line in found["lines"]
        ],
        "read_back": {"by": found["read_back_by"], "at": found["read_back_at"], "doubts": list(found["doubt"])},
        "strobe": {
            "base_timing": _strobe_check(strobe["base"]),
            "map": _strobe_check(strobe["map"]),
            "final": _strobe_check(strobe["final"]),
            "clamp": strobe["clamp"],
        },
        "fitted": [
            {
                "item": row["key"],
                "what": row["text"],
                "value": row["value"],
                "unit": row["unit"],
                "note": row["note"],
            }
            for row in fitted
        ],
        "second_check": {name: facts["sign_off"][name] for name in ("by", "at")} if facts["sign_off"] else None,
    }
    settings[OF_THE_MAP] = digest_of_map(settings)
    settings[OF_ALL] = digest_of_all(settings)
    return settings


def as_bytes(settings: Plain) -> bytes:
    """The file of `settings`: UTF-8, for people to read as well; the same settings give the same bytes."""
    return json.dumps(settings, indent=1, ensure_ascii=False, allow_nan=False).encode()


def _strobe_check(found: Mapping[str, Any] | None) -> Plain | None:
    """A check of which enough was read to prove something."""
    if found is None or not found["enough"]:
        return None
    return {
        "verdict": found["verdict"],
        "holds": found["holds"],
        "lamp": found["lamp"],
        "tolerance_deg": found["tolerance_deg"],
        "readings": [
            {
                "rpm": reading["rpm"],
                "vacuum_kpa": reading["vacuum_kpa"],
                "expected_deg_btdc": reading["expected_deg"],
                "measured_deg_btdc": reading["measured_deg"],
                "read_by": reading["by"],
                "read_at": reading["at"],
            }
            for reading in found["readings"]
        ],
    }
