"""The forms of the car pages, cleaned to what the actions take."""

from fleet.forms.board import LONGEST_SEARCH, WITHIN, BoardFilterForm
from fleet.forms.cars import CarCorrectForm, CarForm, HandOverForm, OdometerForm, ReadingCorrectForm, ServiceForm
from fleet.forms.checks import CheckForm, CheckPointForm
from fleet.forms.completions import CompletionCorrectForm, CompletionForm
from fleet.forms.confirmations import ConfirmationForm
from fleet.forms.defects import CloseForm, DefectForm, ReassessForm, ReopenForm, TakeInHandForm
from fleet.forms.due_items import BookingForm, DueItemForm
from fleet.forms.leaving import LeavingForm, LeftCar
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
    "CheckForm",
    "CheckPointForm",
    "CloseForm",
    "CompletionCorrectForm",
    "CompletionForm",
    "ConfirmationForm",
    "DefectForm",
    "DueItemForm",
    "HandOverForm",
    "LeavingForm",
    "LeftCar",
    "MotFailForm",
    "MotPassForm",
    "NewTyresForm",
    "OdometerForm",
    "ReadingCorrectForm",
    "ReassessForm",
    "ReminderChoicesForm",
    "ReopenForm",
    "RotationForm",
    "ServiceForm",
    "TakeInHandForm",
    "TreadForm",
]
