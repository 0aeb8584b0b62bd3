"""A map taken over from a sheet, by its PDF or by the text of its camera code, whichever workshop made it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from garage.record.refusals import RuleRefusedError
from garage.units.models import UnitType
from jobs.job.models import Job
from jobs.maps import origins
from jobs.maps import queries as maps
from jobs.maps.unit_fit import fit_to_unit
from jobs.settings_file.out_of_pdf import settings_in
from jobs.settings_file.reading import read_settings
from jobs.settings_file.words import fitted_in_words
from timing.comparison import compare
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.map_text import map_from_text

Rows = list[tuple[str, str]]

# What another car may have otherwise, by the words of this page.
HELD_AGAINST = {
    "make": "make",
    "model": "model",
    "chassis_number": "chassis number",
    "firing_order": "firing order",
    "fuel_octane_ron": "fuel (RON)",
    "red_line_rpm": "red line (rpm)",
    "system_voltage_v": "voltage (V)",
    "earth": "earth",
}


@dataclass(frozen=True, slots=True)
class FromSheet:
    """What a sheet holds, and in what it differs from the car in hand."""

    map: IgnitionMap
    said: Rows  # what the sheet says of itself
    differs: list[str]
    origin: str
    fitted: Rows = field(default_factory=list)  # what is in the car it was made for
    settings: str = ""  # what was read out of a PDF, so that it is not asked for twice


def read_sheet(job: Job, *, text: str = "", pdf: bytes = b"", settings: str = "") -> FromSheet:
    """What a sheet holds, held against `job`: its car, its unit, and the map that is in the car now.

    One of the three is there: the `text` of a camera code, a `pdf`, or the `settings` that were read out of one before.

    Raises
    ------
    RuleRefusedError
        If it is no sheet, is not as it was written, or the unit of the car cannot hold its map.
    """
    if pdf:
        settings = settings_in(pdf).decode("utf-8", "replace")
    found = _of_settings(job, settings) if settings else _of_code(job, text)
    _refuse_what_the_unit_cannot_hold(job, found.map)
    return found


def _of_code(job: Job, text: str) -> FromSheet:
    try:
        read = map_from_text(text)
    except TimingError as problem:
        sentence = str(problem)
        raise RuleRefusedError(f"{sentence[0].upper()}{sentence[1:]}.") from problem
    labels = read.labels
    return FromSheet(
        map=read.ignition_map,
        said=[(name.capitalize(), value) for name, value in labels.items()],
        differs=[
            *_of_another_car(job, labels.get("CAR", "")),
            *_for_another_unit(job, labels.get("UNIT", "")),
            *_of_the_map(job, read.ignition_map),
        ],
        origin=_origin(labels, f"checksum {text.upper().split()[-1]}"),
    )


def _of_settings(job: Job, settings: str) -> FromSheet:
    read = read_settings(settings.encode())
    said, ignition_map = read.said, read.ignition_map
    car, unit, version = said["car"], said["unit"], said["map_version"]
    labels = {"CAR": car["registration"], "JOB": said["job"]["code"], "VERSION": str(version["number"])}
    return FromSheet(
        map=ignition_map,
        said=[
            ("Car", " ".join(filter(None, (car["registration"], car["make"], car["model"])))),
            ("Job", said["job"]["code"]),
            ("Version", f"{version['number']}, released by {version['released_by']}"),
            ("Unit", ", ".join(filter(None, (unit["type"], f"no. {unit['serial_number']}", unit["firmware"])))),
            ("Date", said["written_at"][:10]),
            ("Workshop", said["workshop"]["name"]),
        ],
        differs=[
            *_of_another_car(job, car["registration"]),
            *_differences(job, car),
            *_for_another_unit(job, unit["type"]),
            *_of_other_firmware(job, unit["firmware"]),
            *_of_the_map(job, ignition_map),
        ],
        origin=_origin(labels, f"checksum {said['map_sha256'][:16]}"),
        fitted=fitted_in_words(said),
        settings=json.dumps(said, ensure_ascii=False, separators=(",", ":")),
    )


def _refuse_what_the_unit_cannot_hold(job: Job, ignition_map: IgnitionMap) -> None:
    if job.unit is None:
        raise RuleRefusedError("Choose the unit first.")
    problems = fit_to_unit(ignition_map, job.unit.revision.holds()).problems
    if problems:
        raise RuleRefusedError(*(f"The unit in this car cannot hold this map: {problem}." for problem in problems))


def _origin(labels: Mapping[str, str], checksum: str) -> str:
    of = ", ".join(f"{name.lower()} {labels[name]}" for name in ("CAR", "JOB", "VERSION") if name in labels)
    words = f"{origins.SHEET}{f' of {of}' if of else ''}"
    return f"{words[: 198 - len(checksum)]}, {checksum}"


def _of_another_car(job: Job, plate: str) -> list[str]:
    own = job.vehicle.registration
    if not plate or _letters(plate) == _letters(own):
        return []
    return [f"The sheet is of {plate}, this car is {own}."]


def _differences(job: Job, other: Mapping[str, Any]) -> list[str]:
    """In what the car of the sheet is another; what either does not know is no difference."""
    vehicle, engine = job.vehicle, job.vehicle.engine
    own = {
        "make": vehicle.maker,
        "model": vehicle.model,
        "chassis_number": vehicle.chassis_number,
        "firing_order": engine.firing_order,
        "fuel_octane_ron": engine.fuel_ron,
        "red_line_rpm": engine.red_line_rpm,
        "system_voltage_v": vehicle.system_volts,
        "earth": vehicle.get_earth_polarity_display(),
    }
    return [
        f"On the sheet the {words} is {_said(other[name])}, here it is {_said(own[name])}."
        for name, words in HELD_AGAINST.items()
        if other[name] and own[name] and _letters(_said(other[name])) != _letters(_said(own[name]))
    ]


def _for_another_unit(job: Job, unit: str) -> list[str]:
    """Units are told apart by their type's name, as the code's capitals write it."""
    own: UnitType | None = job.unit.revision.unit_type if job.unit else None
    if not unit or own is None or _letters(unit) == _letters(own.name):
        return []
    return [f"The sheet is for a {unit}, this car has a {own.name}. The points are fitted to its steps."]


def _of_other_firmware(job: Job, firmware: str) -> list[str]:
    own = job.unit.firmware if job.unit else ""
    if not firmware or not own or _letters(firmware) == _letters(own):
        return []
    return [f"The unit of the sheet had firmware {firmware}, this one has {own}."]


def _of_the_map(job: Job, taken: IgnitionMap) -> list[str]:
    now = maps.in_car(job).version
    if now is None:
        return []
    changes = compare(now.ignition_map(), taken).sentence
    return [f"Against version {now.number}, now in the car: {changes}."]


def _said(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _letters(name: str) -> str:
    return "".join(sign for sign in name.upper() if sign.isalnum())
