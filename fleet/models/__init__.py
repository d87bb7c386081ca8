"""The cars, what falls due on them, their condition, and what was told to whom."""

from config.outbox import MailState
from fleet.models.calendars import CalendarFeed, FeedScope
from fleet.models.cars import Car, FuelKind, KeeperTime, OdometerReading, Transmission
from fleet.models.condition import (
    CheckGroup,
    CheckPoint,
    Confirmation,
    Defect,
    DefectState,
    DefectStep,
    Evidence,
    FoundBy,
    TreadReading,
    TyreMove,
    WalkaroundCheck,
    Wheel,
)
from fleet.models.due import Completion, DueItem
from fleet.models.notification import MailKind, Notice, ReminderMail, ReminderRun, UnknownSpell
from fleet.models.photos import Photo
from fleet.models.watching import DutyTurn, Pulse, PulseName

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
    "DutyTurn",
    "Evidence",
    "FeedScope",
    "FoundBy",
    "FuelKind",
    "KeeperTime",
    "MailKind",
    "MailState",
    "Notice",
    "OdometerReading",
    "Photo",
    "Pulse",
    "PulseName",
    "ReminderMail",
    "ReminderRun",
    "Transmission",
    "TreadReading",
    "TyreMove",
    "UnknownSpell",
    "WalkaroundCheck",
    "Wheel",
]
