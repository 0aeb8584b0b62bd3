"""Gathers the rooms' models for Django."""

from jobs.billing.models import Bill, BillLine, BillRateSum, BillSerial, Payment
from jobs.booking.models import BookingPhotograph
from jobs.checklists.models import (
    ChecklistItem,
    ChecklistTemplate,
    Confirmation,
    Entry,
    JobSheet,
    Photograph,
    TemplateRevision,
)
from jobs.costs.models import CostLine, UsualHours, WorkTimer
from jobs.documents.models import CustomerLink, IssuedDocument
from jobs.handover.models import SignOff
from jobs.inspection.models import CompressionReading, InspectionVerdict, MarkCheck, SweepReading
from jobs.job.models import CautionRead, GateCrossing, Job, JobSerial, JournalLine
from jobs.maps.models import CurvePattern, MapVersion, ReadBack
from jobs.post.models import Mail, MailAttachment, MailStep, MailText
from jobs.privacy.models import Erasure, FileToRemove
from jobs.proposals.models import PointEvidence, Proposal, ProposedPoint
from jobs.quotes.models import LinkTry, Quote, QuoteAnswer, QuoteLine, QuoteSerial, UsualPart
from jobs.rechecks.models import Reminder, ReminderBatch, ReminderText
from jobs.roadlogs.models import ColumnSet, RoadLog
from jobs.roadtest.models import RoadNote, RoadRun
from jobs.strobe.models import ClampCheck, StrobeReading, StrobeSession
from jobs.vat.models import VatRate
from jobs.week.models import CalendarFeed

__all__ = [
    "Bill",
    "BillLine",
    "BillRateSum",
    "BillSerial",
    "BookingPhotograph",
    "CalendarFeed",
    "CautionRead",
    "ChecklistItem",
    "ChecklistTemplate",
    "ClampCheck",
    "ColumnSet",
    "CompressionReading",
    "Confirmation",
    "CostLine",
    "CurvePattern",
    "CustomerLink",
    "Entry",
    "Erasure",
    "FileToRemove",
    "GateCrossing",
    "InspectionVerdict",
    "IssuedDocument",
    "Job",
    "JobSerial",
    "JobSheet",
    "JournalLine",
    "LinkTry",
    "Mail",
    "MailAttachment",
    "MailStep",
    "MailText",
    "MapVersion",
    "MarkCheck",
    "Payment",
    "Photograph",
    "PointEvidence",
    "Proposal",
    "ProposedPoint",
    "Quote",
    "QuoteAnswer",
    "QuoteLine",
    "QuoteSerial",
    "ReadBack",
    "Reminder",
    "ReminderBatch",
    "ReminderText",
    "RoadLog",
    "RoadNote",
    "RoadRun",
    "SignOff",
    "StrobeReading",
    "StrobeSession",
    "SweepReading",
    "TemplateRevision",
    "UsualHours",
    "UsualPart",
    "VatRate",
    "WorkTimer",
]
