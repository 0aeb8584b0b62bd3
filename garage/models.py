"""Gathers the rooms' models for Django."""

from garage.arrivals.models import Arrival, Arrived, ColumnPlan, WaitingList
from garage.background.models import BackgroundWorker
from garage.customers.models import Customer
from garage.mail.models import MailSettings
from garage.people.models import Device, OpenSession, Staff, Workshop
from garage.pricelist.models import PricedPart
from garage.record.models import OpenErasing, TrailEntry
from garage.rota.models import Absence, Bay, WorkingWeek
from garage.second_factor.models import Passkey, RecoveryCode, TimeCode
from garage.stock.models import StockMove
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

__all__ = [
    "Absence",
    "Arrival",
    "Arrived",
    "BackgroundWorker",
    "Bay",
    "Coil",
    "ColumnPlan",
    "Customer",
    "Device",
    "Distributor",
    "Engine",
    "FittedUnit",
    "MailSettings",
    "OpenErasing",
    "OpenSession",
    "Passkey",
    "PricedPart",
    "RecoveryCode",
    "Staff",
    "StockMove",
    "TimeCode",
    "TrailEntry",
    "UnitType",
    "UnitTypeRevision",
    "Vehicle",
    "WaitingList",
    "WorkingWeek",
    "Workshop",
]
