"""Gathers the rooms' models for Django."""

from garage.customers.models import Customer
from garage.people.models import Device, Staff, Workshop
from garage.record.models import Change
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

__all__ = [
    "Change",
    "Coil",
    "Customer",
    "Device",
    "Distributor",
    "Engine",
    "FittedUnit",
    "Staff",
    "UnitType",
    "UnitTypeRevision",
    "Vehicle",
    "Workshop",
]
