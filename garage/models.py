"""Gathers the rooms' models for Django."""

from garage.background.models import BackgroundWorker
from garage.customers.models import Customer
from garage.people.models import Device, Staff, Workshop
from garage.record.models import TrailEntry
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

__all__ = [
    "BackgroundWorker",
    "Coil",
    "Customer",
    "Device",
    "Distributor",
    "Engine",
    "FittedUnit",
    "Staff",
    "TrailEntry",
    "UnitType",
    "UnitTypeRevision",
    "Vehicle",
    "Workshop",
]
