"""What the customer's page shows of the car's settings without a PDF: a picture and two short tables."""

from dataclasses import dataclass
from typing import Any

from jobs.documents.setting import before_and_after
from jobs.maps.stored_map import from_json
from timing.charts.graph import Graph

PHONE = 360  # [px]


@dataclass(frozen=True, slots=True)
class SettingsOnLink:
    """The settings that the newest customer's sheet tells of.

    `curve` are rows of engine speed and total advance without vacuum [rpm, degrees before top dead centre]; `entries`
    what was keyed into the unit, in its own words.
    """

    wide: Graph | None
    narrow: Graph | None
    curve: list[tuple[float, float]]
    entries: list[dict[str, Any]]


def settings_on_link(sheet: dict[str, Any]) -> SettingsOnLink:
    """The settings of `sheet`, what a customer's sheet was made from."""
    ignition_map = from_json(sheet["map"]["delivered"])
    total = ignition_map.curve.shift(ignition_map.base_deg)
    return SettingsOnLink(
        wide=before_and_after(sheet, uid="settings-wide"),
        narrow=before_and_after(sheet, uid="settings-narrow", width=PHONE),
        curve=[(float(rpm), float(degrees)) for rpm, degrees in zip(total.rpm, total.degrees, strict=True)],
        entries=sheet["map"]["lines"],
    )
