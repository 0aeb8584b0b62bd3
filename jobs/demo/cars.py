"""The demo's cars and their keepers. Makers, models, numbers and people are invented; the figures are plausible.

Advance figures of a distributor are distributor degrees at distributor rpm, as data sheets give them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from garage.customers.actions import enter_customer
from garage.record.actor import Actor
from garage.vehicles.actions import enter_vehicle
from garage.vehicles.models import Vehicle

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class DemoCar:
    """A car, its keeper, and what is known of its parts; `odometer` in miles as it comes in."""

    keeper: Values
    car: Values
    engine: Values
    distributor: Values
    coil: Values
    odometer: int
    compression_kpa: tuple[float, ...]
    # what the old advance does beyond the middle of its band, [crank rpm, crank degrees]
    wear: tuple[tuple[float, float], ...] = field(default=((0, 0.0),))
    # whether this conversion puts a toothed wheel and a sensor on the crank, and leaves the distributor to share out
    gets_crank_sensor: bool = False

    def enter(self, actor: Actor) -> Vehicle:
        idempotency_key = self._once("car")
        customer = enter_customer(idempotency_key=self._once("keeper"), actor=actor, **self.keeper)
        parts = {"engine": dict(self.engine), "distributor": dict(self.distributor), "coil": dict(self.coil)}
        vehicle = enter_vehicle(
            idempotency_key=idempotency_key, actor=actor, values={"customer": customer, **self.car}, parts=parts
        )
        return Vehicle.objects.select_related("customer", "engine", "distributor", "coil").get(pk=vehicle.pk)

    def _once(self, what: str) -> UUID:
        return uuid5(NAMESPACE_URL, f"demo/{self.car['registration']}/{what}")


def keeper(name: str, number: int, street: str, notes: str = "") -> Values:
    first = name.split(" ", maxsplit=1)[0].lower()
    return {
        "name": name,
        "phone": f"01632 960{number}",
        "email": f"{first}@example.org",
        "address": f"{street}\nNether Hatch",
        "notes": notes,
    }


BREAKER = {"trigger": "contact breaker", "trigger_place": "distributor"}

MINIM = DemoCar(
    keeper=keeper("Odile Farrant", 211, "9 Weir Cottages"),
    car={
        "registration": "QI 358", "chassis_number": "M35-01127", "maker": "Tansy", "model": "Minim", "year": 1958,
        "earth_polarity": "negative", "system_volts": 12, "charging": "dynamo", "tachometer": "none",
    },
    engine={
        "family": "Tansy upright single", "cylinders": 1, "bore_mm": 74.0, "stroke_mm": 80.0, "rod_mm": 140.0,
        "compression_ratio": 6.8, "firing_order": "1", "fuel_ron": 95.0, "idle_rpm": 1000.0, "red_line_rpm": 4800.0,
    },
    distributor={
        **BREAKER, "rotation": "clockwise", "base_timing_deg": 10.0, "has_rotor": False,
        "factory_band": [[500, 0, 1], [900, 3, 5], [1400, 7, 9], [2000, 9, 11]], "dwell_deg": 120.0,
    },
    coil={"primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": False},
    odometer=31882,
    compression_kpa=(940,),
)  # fmt: skip

TWAIN = DemoCar(
    keeper=keeper("Piers Amory", 224, "The Old Chandlery", "Telephones after six."),
    car={
        "registration": "IQ 6054", "chassis_number": "T2-4410", "maker": "Osier", "model": "Twain", "year": 1954,
        "earth_polarity": "positive", "system_volts": 6, "charging": "dynamo", "tachometer": "none",
    },
    engine={
        "family": "Osier flat twin", "cylinders": 2, "bore_mm": 72.0, "stroke_mm": 73.0, "rod_mm": 132.0,
        "compression_ratio": 7.0, "firing_order": "1-2", "fuel_ron": 95.0, "idle_rpm": 850.0, "red_line_rpm": 4500.0,
        "pulley_diameter_mm": 150.0, "cap_terminals_even": True,
    },
    distributor={
        **BREAKER, "rotation": "anticlockwise", "base_timing_deg": 6.0,
        "factory_band": [[450, 0, 1], [800, 3, 5], [1300, 7, 9], [1900, 10, 12]], "dwell_deg": 100.0,
        "rotor_tip_width_mm": 6.0, "rotor_tip_radius_mm": 18.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 58.0,
    },
    coil={"primary_ohm": 1.5, "inductance_mh": 5.0, "has_ballast": False},
    odometer=58014,
    compression_kpa=(905, 890),
    wear=((800, 0.5), (1800, 4.0), (3800, 3.5)),
)  # fmt: skip

GRAND_EIGHT = DemoCar(
    keeper=keeper("Hatch Wedding Cars", 237, "Unit 4, Goods Yard", "Invoice to the office, not to the driver."),
    car={
        "registration": "QZ 88 G", "chassis_number": "GE-66-0312", "maker": "Ashlar", "model": "Grand Eight",
        "year": 1966, "earth_polarity": "negative", "system_volts": 12, "charging": "alternator",
        "tachometer": "coil current",
        "notes": "Tachometer loop in the coil's feed, behind the instrument panel.",
    },
    engine={
        "family": "Ashlar 4.4 litre eight", "cylinders": 8, "bore_mm": 90.0, "stroke_mm": 86.0, "rod_mm": 152.0,
        "compression_ratio": 8.8, "firing_order": "1-8-4-3-6-5-7-2", "fuel_ron": 97.0, "idle_rpm": 650.0,
        "red_line_rpm": 5000.0, "pulley_diameter_mm": 165.0, "cap_terminals_even": True,
    },
    distributor={
        **BREAKER, "rotation": "clockwise", "base_timing_deg": 6.0,
        "factory_band": [[350, 0, 1], [600, 3, 5], [1000, 6, 8], [1600, 9, 11], [2200, 11, 13]],
        "capsule_start_kpa": 15.0, "capsule_full_kpa": 45.0, "capsule_full_deg": 6.0, "dwell_deg": 29.0,
        "rotor_tip_width_mm": 9.0, "rotor_tip_radius_mm": 24.0, "post_width_mm": 5.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 82.0,
    },
    coil={
        "primary_ohm": 1.5, "inductance_mh": 6.5, "has_ballast": True,
        "ballast_ohm": 1.5, "has_bypass": True, "heat_limit_w": 40.0,
    },
    odometer=72410,
    compression_kpa=(1120, 1105, 1130, 1090, 1115, 1125, 1080, 1110),
    wear=((700, 0.0), (1600, -2.5), (3200, -5.0), (4400, -4.5)),
)  # fmt: skip

DROVER = DemoCar(
    keeper=keeper("Marit Solberg", 243, "17 Kiln Rise"),
    car={
        "registration": "IZI 415", "chassis_number": "P15-20877", "maker": "Pellow", "model": "Drover 1500",
        "year": 1968, "earth_polarity": "negative", "system_volts": 12, "charging": "alternator",
        "tachometer": "coil voltage",
    },
    engine={
        "family": "Pellow 1500", "cylinders": 4, "bore_mm": 80.0, "stroke_mm": 76.0, "rod_mm": 139.7,
        "compression_ratio": 8.6, "firing_order": "1-3-4-2", "fuel_ron": 97.0, "idle_rpm": 800.0,
        "red_line_rpm": 5800.0, "pulley_diameter_mm": 150.0, "cap_terminals_even": True,
    },
    distributor={
        **BREAKER, "rotation": "anticlockwise", "base_timing_deg": 8.0,
        "factory_band": [[400, 0, 0.5], [600, 1, 3], [900, 5, 7], [1500, 8.5, 10.5], [2250, 11, 13]],
        "capsule_start_kpa": 14.0, "capsule_full_kpa": 40.0, "capsule_full_deg": 6.0, "dwell_deg": 57.0,
        "rotor_tip_width_mm": 7.0, "rotor_tip_radius_mm": 20.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 64.0,
    },
    coil={"primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": False, "heat_limit_w": 45.0},
    odometer=84120,
    compression_kpa=(1130, 1110, 1120, 1095),
    wear=((800, 0.0), (2000, 2.5), (4000, 1.0)),
)  # fmt: skip

HALYARD_SIX = DemoCar(
    keeper=keeper("Gideon Prowse", 256, "Signal House"),
    car={
        "registration": "QIZ 246", "chassis_number": "H6/70/118", "maker": "Halyard", "model": "Six", "year": 1970,
        "earth_polarity": "negative", "system_volts": 12, "charging": "alternator", "tachometer": "mechanical",
        "notes": "Pick-up and module in place of the points, fitted by an earlier owner.",
    },
    engine={
        "family": "Halyard 2.4 litre six", "cylinders": 6, "bore_mm": 77.0, "stroke_mm": 86.0, "rod_mm": 150.0,
        "compression_ratio": 9.0, "firing_order": "1-5-3-6-2-4", "fuel_ron": 97.0, "idle_rpm": 750.0,
        "red_line_rpm": 5500.0, "pulley_diameter_mm": 160.0, "cap_terminals_even": True,
    },
    distributor={
        "trigger": "inductive", "trigger_place": "distributor", "rotation": "anticlockwise", "base_timing_deg": 10.0,
        "factory_band": [[400, 0, 1], [650, 2, 4], [1000, 5, 7], [1700, 8, 10], [2400, 9.5, 11.5]],
        "capsule_start_kpa": 17.0, "capsule_full_kpa": 44.0, "capsule_full_deg": 5.0,
        "rotor_tip_width_mm": 8.0, "rotor_tip_radius_mm": 21.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 70.0,
    },
    coil={
        "primary_ohm": 1.5, "inductance_mh": 6.5, "has_ballast": True,
        "ballast_ohm": 1.5, "has_bypass": True, "heat_limit_w": 40.0,
    },
    odometer=61733,
    compression_kpa=(1180, 1165, 1190, 1150, 1175, 1160),
    wear=((800, 0.0), (2000, 1.0), (4800, 0.5)),
    gets_crank_sensor=True,
)  # fmt: skip

TEN_SIXTY = DemoCar(
    keeper=keeper("Wilf Danby", 268, "3 Turnpike Terrace"),
    car={
        "registration": "ZI 1060", "chassis_number": "C1060-5529", "maker": "Corbel", "model": "Ten-Sixty",
        "year": 1964, "earth_polarity": "negative", "system_volts": 12, "charging": "alternator", "tachometer": "none",
    },
    engine={
        "family": "Corbel 1060", "cylinders": 4, "bore_mm": 67.0, "stroke_mm": 75.0, "rod_mm": 130.0,
        "compression_ratio": 8.5, "firing_order": "1-3-4-2", "fuel_ron": 95.0, "idle_rpm": 800.0,
        "red_line_rpm": 5500.0, "pulley_diameter_mm": 120.0, "cap_terminals_even": True,
    },
    distributor={
        **BREAKER, "rotation": "clockwise", "base_timing_deg": 6.0,
        "factory_band": [[400, 0, 0.5], [600, 1, 3], [900, 4.5, 6.5], [1400, 8, 10], [2100, 11, 13]],
        "capsule_start_kpa": 13.5, "capsule_full_kpa": 40.6, "capsule_full_deg": 6.0, "dwell_deg": 54.0,
        "rotor_tip_width_mm": 7.0, "rotor_tip_radius_mm": 20.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 64.0,
    },
    coil={"primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": False},
    odometer=43907,
    compression_kpa=(1085, 1070, 1060, 1090),
    wear=((800, 0.0), (2000, 1.5), (4000, 0.5)),
)  # fmt: skip

THREE = DemoCar(
    keeper=keeper("Sunniva Blake", 279, "Ferry Steps", "Away until the end of the month; write, do not ring."),
    car={
        "registration": "IQZ 303", "chassis_number": "T3-990", "maker": "Hob", "model": "Three", "year": 1961,
        "earth_polarity": "negative", "system_volts": 12, "charging": "dynamo", "tachometer": "none",
    },
    engine={
        "family": "Hob triple", "cylinders": 3, "strokes": 2, "bore_mm": 71.0, "stroke_mm": 74.0, "rod_mm": 135.0,
        "compression_ratio": 7.2, "firing_order": "1-2-3", "fuel_ron": 95.0, "idle_rpm": 900.0,
        "red_line_rpm": 5000.0, "pulley_diameter_mm": 140.0, "cap_terminals_even": True,
    },
    distributor={**BREAKER, "rotation": "clockwise", "base_timing_deg": 20.0, "dwell_deg": 60.0},
    coil={"primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": False},
    odometer=29644,
    compression_kpa=(820, 590, 805),
)  # fmt: skip

LORIMER = DemoCar(
    keeper=keeper("Constance Aubrey", 282, "Mill Meadow", "Drives to the coast every Sunday, hill on the way."),
    car={
        "registration": "ZIQ 110 K", "chassis_number": "L11-70342", "maker": "Lorimer", "model": "1100 Tourer",
        "year": 1971, "earth_polarity": "negative", "system_volts": 12, "charging": "alternator",
        "tachometer": "coil voltage",
    },
    engine={
        "family": "Lorimer 1100", "cylinders": 4, "bore_mm": 69.0, "stroke_mm": 74.0, "rod_mm": 130.0,
        "compression_ratio": 8.8, "firing_order": "1-3-4-2", "fuel_ron": 95.0, "idle_rpm": 850.0,
        "red_line_rpm": 6000.0, "pulley_diameter_mm": 120.0, "cap_terminals_even": True,
    },
    distributor={
        **BREAKER, "rotation": "anticlockwise", "base_timing_deg": 8.0,
        "factory_band": [[400, 0, 0.5], [600, 1, 3], [900, 5, 7], [1500, 8.5, 10.5], [2250, 11, 13]],
        "capsule_start_kpa": 13.5, "capsule_full_kpa": 40.0, "capsule_full_deg": 6.0, "dwell_deg": 54.0,
        "rotor_tip_width_mm": 7.0, "rotor_tip_radius_mm": 20.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7,
        "plate_moves": True, "rim_diameter_mm": 64.0,
    },
    coil={"primary_ohm": 3.0, "inductance_mh": 8.0, "has_ballast": False, "heat_limit_w": 45.0},
    odometer=52288,
    compression_kpa=(1140, 1125, 1150, 1120),
    wear=((800, 0.0), (2000, 3.0), (4500, 1.0)),
)  # fmt: skip
