"""A car's settings in plain words, for a person at a console or on a page."""

from collections.abc import Iterator, Mapping
from typing import Any

from garage.quantities.words import advance, plain

Said = Mapping[str, Any]

STROBE_CHECKS = {"base_timing": "Base timing by strobe", "map": "Strobe sweep", "final": "Final check by strobe"}


def fitted_in_words(said: Said) -> list[tuple[str, str]]:
    """What is in the car, line by line: what it is, and how it is."""
    return [
        (row["what"], " ".join(filter(None, (row["value"], row["unit"], f"({row['note']})" if row["note"] else ""))))
        for row in said["fitted"]
    ]


def in_words(said: Said) -> Iterator[str]:
    """Every line of a sheet's settings."""
    car, unit, version, paper = said["car"], said["unit"], said["map_version"], said["paper"]
    yield f"{paper['kind'].capitalize()} no. {paper['number']} of job {said['job']['code']}, {said['written_at'][:10]}"
    yield ", ".join(filter(None, said["workshop"].values())).replace("\n", ", ")
    yield ""
    year = f", {car['year']}" if car["year"] else ""
    yield f"Car: {car['registration']}, {car['make']} {car['model']}{year}"
    for words, value in (
        ("Chassis number", car["chassis_number"]),
        ("Firing order", car["firing_order"]),
        ("Idle speed", _with(car["idle_rpm"], "rpm")),
        ("Red line", _with(car["red_line_rpm"], "rpm")),
        ("Fuel", _with(car["fuel_octane_ron"], "RON or better")),
        ("Voltage", _with(car["system_voltage_v"], "V")),
        ("Earth", car["earth"]),
        ("Tachometer", car["tachometer"]),
    ):
        if value:
            yield f"{words}: {value}"
    firmware = f", firmware {unit['firmware']}" if unit["firmware"] else ""
    yield f"Unit: {unit['type']}, serial number {unit['serial_number']}{firmware}"
    yield ""
    yield f"Map version {version['number']}, released by {version['released_by']}, {version['released_at'][:10]}"
    yield from _map_in_words(said["map"])
    yield f"Checksum of the map: {said['map_sha256']}"
    yield ""
    yield f"Key in, in this order. Points of the curve in {unit['curve_counted_from']}:"
    for line in said["entries"]:
        meaning = f" ({line['what_it_is']})" if line["what_it_is"] else ""
        yield f"{line['position']:>4}. {line['on_the_unit']}{meaning}: {line['value']} {line['unit']}".rstrip()
    yield f"Read back by {said['read_back']['by']}, {said['read_back']['at'][:10]}"
    for doubt in said["read_back"]["doubts"]:
        yield f"Did not agree later: {doubt}"
    for name, words in STROBE_CHECKS.items():
        yield from _strobe_in_words(words, said["strobe"][name])
    if said["fitted"]:
        yield ""
        yield "Fitted:"
        for what, how in fitted_in_words(said):
            yield f"  {what}: {how}"
    if said["second_check"]:
        yield f"Second check by {said['second_check']['by']}, {said['second_check']['at'][:10]}"


def _map_in_words(part: Said) -> Iterator[str]:
    yield f"Base timing: {advance(part['base_timing_deg_btdc'])}"
    yield "Advance from the base timing: " + ", ".join(
        f"{plain(point['advance_deg'])}° at {plain(point['rpm'])} rpm" for point in part["curve"]
    )
    vacuum = part["vacuum"]
    if vacuum is None:
        yield "Vacuum adds nothing."
    elif vacuum["kind"] == "ramp":
        yield (
            f"Vacuum adds from {plain(vacuum['start_kpa'])} kPa, {plain(vacuum['full_advance_deg'])}° at "
            f"{plain(vacuum['full_kpa'])} kPa, from {plain(vacuum['from_rpm'])} rpm"
        )
    else:
        yield "Vacuum adds at " + ", ".join(f"{plain(rpm)}" for rpm in vacuum["rpm"]) + " rpm:"
        for kpa, row in zip(vacuum["vacuum_kpa"], vacuum["advance_deg"], strict=True):
            yield f"  {plain(kpa)} kPa: " + ", ".join(f"{plain(cell)}°" for cell in row)
    if part["boost"]:
        yield "Boost takes away " + ", ".join(
            f"{plain(point['retard_deg'])}° at {plain(point['boost_kpa'])} kPa" for point in part["boost"]
        )
    if part["dwell_ms"] is not None:
        yield f"Dwell: {plain(part['dwell_ms'])} ms"
    if part["rev_limit_rpm"] is not None:
        manner = f", {part['rev_limit_manner']}" if part["rev_limit_manner"] else ""
        yield f"Rev limit: {plain(part['rev_limit_rpm'])} rpm{manner}"
    yield f"Repeated sparks while cranking: {'on' if part['repeated_sparks_while_cranking'] else 'off'}"
    if part["trigger"]:
        yield f"Trigger: {part['trigger']}"


def _strobe_in_words(words: str, found: Said | None) -> Iterator[str]:
    if found is None:
        return
    yield ""
    yield f"{words}: {found['verdict']}"
    for reading in found["readings"]:
        pipe = "pipe off" if reading["vacuum_kpa"] is None else f"{plain(reading['vacuum_kpa'])} kPa"
        yield (
            f"  {plain(reading['rpm'])} rpm, {pipe}: {advance(reading['measured_deg_btdc'], 1)}, "
            f"must show {advance(reading['expected_deg_btdc'], 1)}"
        )


def _with(value: float | None, unit: str) -> str:
    return "" if value is None else f"{plain(value)} {unit}"
