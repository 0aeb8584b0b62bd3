"""What the demo's mechanics enter on their sheets: for every item of the check-lists that come with Crankmark."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from jobs.checklists.models import ChecklistItem, ItemKind
from jobs.demo.cars import DemoCar

Of = Callable[[DemoCar], Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """One entry's figure, choice or words, and the note beside it."""

    measure: float | None = None
    choice: str = ""
    text: str = ""
    note: str = ""


def _volts(twelve: float, six: float) -> Of:
    return lambda car: six if car.car["system_volts"] == 6 else twelve


def _overlap(car: DemoCar) -> float:
    return {3: 2.4, 4: 2.7, 6: 2.7, 8: 2.8}.get(car.engine["cylinders"], 2.5)


FIGURES: dict[str, float | Of] = {
    # electrics
    "battery-12": 12.58,
    "battery-6": 6.31,
    "cranking-12": 10.24,
    "cranking-6": 5.05,
    "charging-12": 14.1,
    "charging-6": 7.05,
    "earth-drop-cranking": 0.12,
    "coil-temperature-standing": 18,
    "coil-primary": lambda car: round(car.coil["primary_ohm"] * 1.02, 2),
    "ballast-resistance": lambda car: car.coil.get("ballast_ohm", 1.5),
    "lead-highest": 9.4,
    "lead-spread": 11,
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
    "rotor-overlap-highest": _overlap,
    "rotor-overlap-lowest": lambda car: _overlap(car) - 0.2,
    "rotor-neighbour-ratio": lambda car: 10.9 if car.engine["cylinders"] == 8 else 18.0,
    "rotor-resistance": 4.9,
    "lock-angle": 8.0,
    "advance-free-play": 0.2,
    "plug-gap": 0.65,
    "clearance": 45,
    "vacuum-leak": 1.0,
    # the engine running
    "dwell": lambda car: car.distributor["dwell_deg"] + 1,
    "dwell-set": lambda car: car.distributor["dwell_deg"],
    "dwell-change": 1.5,
    "idle-speed": lambda car: car.engine["idle_rpm"] + 40,
    "idle-vacuum": 57,
    "idle-co": 3.1,
    "trigger-edge": lambda car: car.distributor["base_timing_deg"] + 12,
}

CHOICES: dict[str, str | Of] = {
    "post-to-body": lambda car: car.car["earth_polarity"],
    "rotor-direction": lambda car: car.distributor["rotation"],
    "positive-earth-way": "unit made for positive earth",
    "unit-case-isolated": "no path to the body",
    "changed-to-negative": "car stays as it is",
    "trigger-before-spark": "unit times from the opening before",
    "contacts": "clean and flat",
    "valve-clearance": "set now",
    "vacuum-source": "manifold",
}

WORDS: dict[str, str | Of] = {
    "owner-says": lambda car: f"Hesitates when hot, {car.engine['fuel_ron']:.0f} octane, engine as built",
    "ignition-changed": "Nothing found that is not original",
    "coil-type": lambda car: f"{car.car['system_volts']} V, {car.coil['primary_ohm']} ohm",
    "distributor-number": lambda car: f"{car.car['maker'][:2].upper()} {car.car['year'] - 1900}/4",
    "plug-type": "14 mm, long reach, resistor",
    "to-talk-over": "Points and condenser go home in a bag",
    "firing-order": lambda car: f"{car.engine['firing_order']}, {car.distributor['rotation']}",
    "old-colours": "white on 15, white with black to the points",
    "lock-method": "screw through both weights, thread locked",
    "advance-range": lambda car: f"{car.distributor['base_timing_deg']:.0f} to 40",
    "trigger-wire": "with the low-voltage loom, unscreened, 60 mm from the leads",
    "unit-place": "inner wing, cool side",
    "wire-size": "1.5 mm², thin-wall",
    "wires": "1.5 mm², thin-wall, white feed, black earth, white with black to the coil",
    "fuse": "5 A, beside the battery",
    "new-colours": "white feed, black earth, blue trigger, white with black to the coil",
    "odd-things": "Old by-pass wire taped up behind the coil",
}


def answer(item: ChecklistItem, car: DemoCar) -> Answer | None:
    """What was entered for `item` at this car; None where the demo knows of nothing to enter."""
    match item.kind:
        case ItemKind.TICK | ItemKind.PHOTO:
            return Answer()
        case ItemKind.MEASURE:
            figure = _of(FIGURES.get(item.key), car)
            if figure is None:
                figure = _between(item)
            return None if figure is None else Answer(measure=float(figure))
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
