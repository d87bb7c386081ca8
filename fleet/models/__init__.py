"""The cars, what falls due on them, their condition, and what was told to whom."""

from config.outbox import MailState
from fleet.models.calendars import CalendarFeed, FeedScope
from fleet.models.cars import Car, FuelKind, OdometerReading, Transmission
from fleet.models.condition import (
    CheckGroup,
    CheckPoint,
    Confirmation,
    Defect,
    DefectState,
    DefectStep,
    FoundBy,
    Severity,
    TreadReading,
    TyreMove,
    WalkaroundCheck,
    Wheel,
)
from fleet.models.due import Completion, DueItem
from fleet.models.photos import Photo
from fleet.models.telling import MailKind, Notice, ReminderMail, ReminderRun

__all__ = [
    "CalendarFeed",
    "Car",
    "CheckGroup",
    "CheckPoint",
    "Completion",
    "Confirmation",
    "Defect",
    "DefectState",
    "DefectStep",
    "DueItem",
    "FeedScope",
    "FoundBy",
    "FuelKind",
    "MailKind",
    "MailState",
    "Notice",
    "OdometerReading",
    "Photo",
    "ReminderMail",
    "ReminderRun",
    "Severity",
    "Transmission",
    "TreadReading",
    "TyreMove",
    "WalkaroundCheck",
    "Wheel",
]
