"""The forms of the car pages, cleaned to what the actions take."""

from fleet.forms.board import LONGEST_SEARCH, WITHIN, BoardFilterForm
from fleet.forms.cars import CarCorrectForm, CarForm, HandOverForm, ReadingCorrectForm, ReadingForm, ServiceForm
from fleet.forms.checks import CheckGroupForm, CheckPointForm, PointFields
from fleet.forms.completions import CompletionForm
from fleet.forms.confirmations import ConfirmationForm
from fleet.forms.corrections import CheckCorrectForm, CompletionCorrectForm
from fleet.forms.defects import CloseForm, DefectForm, ReassessForm, ReopenForm, SecondForm, TakeInHandForm
from fleet.forms.due_items import BookingForm, DueItemForm
from fleet.forms.leaving import LeavingForm
from fleet.forms.mot import MotFailForm, MotPassForm
from fleet.forms.reminder_choices import ReminderChoicesForm
from fleet.forms.tread import NewTyresForm, RotationForm, TreadForm

__all__ = [
    "LONGEST_SEARCH",
    "WITHIN",
    "BoardFilterForm",
    "BookingForm",
    "CarCorrectForm",
    "CarForm",
    "CheckCorrectForm",
    "CheckGroupForm",
    "CheckPointForm",
    "CloseForm",
    "CompletionCorrectForm",
    "CompletionForm",
    "ConfirmationForm",
    "DefectForm",
    "DueItemForm",
    "HandOverForm",
    "LeavingForm",
    "MotFailForm",
    "MotPassForm",
    "NewTyresForm",
    "PointFields",
    "ReadingCorrectForm",
    "ReadingForm",
    "ReassessForm",
    "ReminderChoicesForm",
    "ReopenForm",
    "RotationForm",
    "SecondForm",
    "ServiceForm",
    "TakeInHandForm",
    "TreadForm",
]
