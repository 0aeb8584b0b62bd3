"""What the demo's mechanics enter on their sheets: for every item of the check-lists that come with Crankmark."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from garage.quantities.measure import Measure
from garage.quantities.words import plain
from garage.vehicles.models import TriggerKind
from jobs.checklists.measuring import quantity_of
from jobs.checklists.models import ChecklistItem, ItemKind
from jobs.demo.cars import DemoCar
from timing.distributor import Phasing, rotor_phasing

Of = Callable[[DemoCar], Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """One entry's figure, choice or words, and the note beside it."""

    measure: float | None = None
    unit: str = ""
    beside: float | None = None
    choice: str = ""
    text: str = ""
    note: str = ""


def _volts(twelve: float, six: float) -> Of:
    return lambda car: six if car.car["system_volts"] == 6 else twelve


def _range(car: DemoCar) -> tuple[float, float]:
    """Base timing alone, and with the middle of the band and the whole capsule: what the first map is going to ask."""
    distributor = car.distributor
    turns = car.engine.get("strokes", 4) / 2
    band = max((low + high) / 2 for _, low, high in distributor["factory_band"])
    base: float = distributor["base_timing_deg"]
    return base, base + turns * (band + distributor.get("capsule_full_deg", 0.0))


def _rotor(car: DemoCar) -> Phasing:
    """The rotor in line in the middle of that range, as the mechanic leaves it."""
    distributor = car.distributor
    return rotor_phasing(
        car.engine["cylinders"],
        *_range(car),
        distributor["rotor_tip_radius_mm"],
        distributor["rotor_tip_width_mm"],
        distributor["post_width_mm"],
        distributor["rotor_gap_mm"],
        strokes=car.engine.get("strokes", 4),
    )


def _moved_mm(car: DemoCar) -> float:
    """How far along the rim the plate was moved with the turn, from tip and terminal in line at the edge."""
    phasing = _rotor(car)
    dist_deg = (phasing.best_aligned_deg - phasing.lowest.spark_deg) / phasing.crank_turns
    return round(math.radians(dist_deg) * float(car.distributor["rim_diameter_mm"]) / 2.0, 1)


def _moved_words(car: DemoCar) -> str:
    moved = f"{_moved_mm(car):g} mm"
    body = f"body {moved} against the turn"
    return body if car.gets_crank_sensor else f"plate {moved} with the turn, {body}"


FIGURES: dict[str, float | Of] = {
    # electrics
    "battery-12": 12.58,
    "battery-6": 6.31,
    "cranking-12": 10.24,
    "cranking-6": 5.05,
    "charging-12": 14.1,
    "charging-6": 7.05,
    "earth-drop-cranking": 0.12,
    "coil-primary": lambda car: round(car.coil["primary_ohm"] * 1.02, 2),
    "ballast-resistance": lambda car: car.coil.get("ballast_ohm", 1.5),
    "charging-dynamo-12": 13.6,
    "charging-dynamo-6": 6.8,
    "charging-dynamo-lights-12": 12.7,
    "charging-dynamo-lights-6": 6.35,
    "lead-longest": 9.4,
    "lead-shortest": 4.8,
    "feed-cranking-12": 10.05,
    "feed-cranking-6": 5.0,
    "feed-drop": _volts(0.24, 0.18),
    "switch-drop": 0.11,
    "joint-drop": 0.04,
    "earth-drop": 0.03,
    "return-drop-positive": 0.05,
    "plate-earth-drop": 0.02,
    "breaker-closed": 0.05,
    "coil-off": 0.02,
    "coil-off-delay": 2.5,
    "coil-temperature": 52,
    # mechanics
    "side-play": 0.06,
    "end-float": 0.18,
    "capsule-leak": 2.0,
    "rotor-tip": lambda car: car.distributor.get("rotor_tip_width_mm", 7.0),
    "rotor-overlap-highest": lambda car: round(_rotor(car).highest.overlap_mm, 1),
    "rotor-overlap-lowest": lambda car: round(_rotor(car).lowest.overlap_mm - 0.1, 1),
    "tip-at-edge": lambda car: -_moved_mm(car),
    "rotor-in-line-at": lambda car: round(_rotor(car).best_aligned_deg),
    "rotor-resistance": 4.9,
    "advance-free-play": 0.2,
    "plug-gap": 0.65,
    "clearance": 45,
    "vacuum-leak": 1.0,
    # the engine running
    "dwell": lambda car: car.distributor["dwell_deg"] + 1,
    "dwell-set": lambda car: car.distributor["dwell_deg"],
    "dwell-change": lambda car: car.distributor["dwell_deg"] + 2.5,
    "idle-speed": lambda car: car.engine["idle_rpm"] + 40,
    "red-line": lambda car: car.engine["red_line_rpm"],
    "idle-vacuum": 17,
    "idle-co": 3.1,
    # Before the strobe: the base timing is still to be set. A wheel on the crank has its edge well before any spark.
    "trigger-edge": lambda car: 60.0 if car.gets_crank_sensor else car.distributor["base_timing_deg"] + 1.5,
    "pickup-resistance": 640,
    "pickup-gap": 0.9,
    "pickup-signal": 1.4,
}

# Read in another unit than the list is written in, and what is read beside a figure.
UNITS = {"idle-vacuum": "inHg"}
BESIDE: dict[str, float | Of] = {
    "coil-primary": 18.0,
    "lead-longest": 0.8,
    "lead-shortest": 0.4,
    "dwell-change": lambda car: car.distributor["dwell_deg"] + 1,
}
TRIGGER_FOUND = {choice.value: choice.label for choice in TriggerKind}

CHOICES: dict[str, str | Of] = {
    "system-volts": lambda car: f"{car.car['system_volts']} V",
    "charging-kind": lambda car: car.car["charging"],
    "ballast-found": lambda car: "fitted" if car.coil["has_ballast"] else "none",
    "bypass-found": "fitted",
    "trigger-found": lambda car: TRIGGER_FOUND[car.distributor["trigger"]],
    "cylinders-counted": lambda car: str(car.engine["cylinders"]),
    "post-to-body": lambda car: car.car["earth_polarity"],
    "twin-rotor": lambda car: "no rotor" if car.distributor.get("has_rotor") is False else "rotor and cap",
    "rotor-direction": lambda car: car.distributor["rotation"],
    "positive-earth-way": "unit made for positive earth",
    "unit-case-isolated": "no path to the body",
    "changed-to-negative": "car stays as it is",
    "trigger-kind": lambda car: car.distributor["trigger"],
    "teeth": "other, unit can",
    "trigger-before-spark": lambda car: "after it" if car.gets_crank_sensor else "timed from the one before",
    "rotor-remedy": lambda car: "body alone" if car.gets_crank_sensor else "plate, then body",
    "contacts": "clean and flat",
    "valve-clearance": "set now",
    "vacuum-source": "manifold",
}

WORDS: dict[str, str | Of] = {
    "owner-says": lambda car: f"Hesitates when hot, {plain(car.engine['fuel_ron'])} octane, engine as built",
    "ignition-changed": lambda car: (
        "Pick-up and module in place of the points" if car.gets_crank_sensor else "Nothing found that is not original"
    ),
    "coil-type": lambda car: f"{car.car['system_volts']} V, {car.coil['primary_ohm']} ohm",
    "distributor-number": lambda car: f"{car.car['maker'][:2].upper()} {car.car['year'] - 1900}/4",
    "plug-type": "14 mm, long reach, resistor",
    "to-talk-over": "Points and condenser go home in a bag",
    "firing-order": lambda car: car.engine["firing_order"],
    "old-colours": "white on 15, white with black to the points",
    "lock-method": "screw through both weights, thread locked",
    "advance-range": lambda car: "{:.0f} to {:.0f}".format(*_range(car)),
    "rotor-moved": _moved_words,
    "trigger-wire": "with the low-voltage loom, unscreened, 60 mm from the leads",
    "unit-place": "inner wing, cool side",
    "wire-size": "1.5 mm², thin-wall",
    "wires": "1.5 mm², thin-wall, white feed, black earth, white with black to the coil",
    "fuse": "5 A, beside the battery",
    "new-colours": "white feed, black earth, blue trigger, white with black to the coil",
    "odd-things": "Old by-pass wire taped up behind the coil",
}


def figure_of(key: str, car: DemoCar) -> float:
    """What is measured at this car for the item `key`."""
    return float(_of(FIGURES[key], car))


def answer(item: ChecklistItem, car: DemoCar) -> Answer | None:
    """What was entered for `item` at this car; None where the demo knows of nothing to enter."""
    match item.kind:
        case ItemKind.TICK | ItemKind.PHOTO:
            return Answer()
        case ItemKind.READING:
            return None
        case ItemKind.MEASURE:
            figure = _of(FIGURES.get(item.key), car)
            if figure is None:
                figure = _between(item)
            if figure is None:
                return None
            unit = UNITS.get(item.key, item.unit)
            measure = Measure.read(float(figure), unit, quantity_of(item)).value
            return Answer(measure=measure, unit=unit, beside=_of(BESIDE.get(item.key), car))
        case ItemKind.CHOICE:
            choice = _of(CHOICES.get(item.key), car)
            if choice not in item.choices:
                choice = (item.good_choices or item.choices)[0]
            return Answer(choice=choice)
        case _:
            words = _of(WORDS.get(item.key), car)
            return Answer(text=words) if words else None


def _of(known: Any, car: DemoCar) -> Any:
    return known(car) if callable(known) else known


def _between(item: ChecklistItem) -> float | None:
    """A figure well within the limits of an item that has them."""
    if item.low is not None and item.high is not None:
        return round((item.low + item.high) / 2, item.decimals)
    if item.high is not None:
        return round(item.high * 0.4, item.decimals)
    return None if item.low is None else round(item.low * 1.2, item.decimals)
