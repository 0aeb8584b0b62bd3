"""Gathers the rooms' models for Django."""

from garage.customers.models import Customer
from garage.people.models import Device, Staff, Workshop
from garage.record.models import OpenErasing, TrailEntry
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

__all__ = [
    "Coil",
    "Customer",
    "Device",
    "Distributor",
    "Engine",
    "FittedUnit",
    "OpenErasing",
    "Staff",
    "TrailEntry",
    "UnitType",
    "UnitTypeRevision",
    "Vehicle",
    "Workshop",
]
