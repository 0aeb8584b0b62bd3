"""Gathers the rooms' models for Django."""

from jobs.card.models import GateCrossing, Job, JobSerial, JournalLine
from jobs.costs.models import CostLine
from jobs.fitting.models import (
    ChecklistItem,
    ChecklistTemplate,
    Confirmation,
    Entry,
    JobSheet,
    Photograph,
    TemplateRevision,
)
from jobs.handover.models import CustomerLink, IssuedDocument, SignOff
from jobs.inspection.models import CompressionReading, InspectionVerdict, MarkCheck, SweepReading
from jobs.maps.models import CurvePattern, MapVersion, ReadBack
from jobs.roadtest.models import RoadNote, RoadRun
from jobs.strobe.models import ClampCheck, StrobeReading, StrobeSitting

__all__ = [
    "ChecklistItem",
    "ChecklistTemplate",
    "ClampCheck",
    "CompressionReading",
    "Confirmation",
    "CostLine",
    "CurvePattern",
    "CustomerLink",
    "Entry",
    "GateCrossing",
    "InspectionVerdict",
    "IssuedDocument",
    "Job",
    "JobSerial",
    "JobSheet",
    "JournalLine",
    "MapVersion",
    "MarkCheck",
    "Photograph",
    "ReadBack",
    "RoadNote",
    "RoadRun",
    "SignOff",
    "StrobeReading",
    "StrobeSitting",
    "SweepReading",
    "TemplateRevision",
]
