"""What the car pages ask for, cleaned to what the actions take."""

from fleet.forms.due_items import BookingForm, CompletionForm, DueItemForm
from fleet.forms.odometer import OdometerForm

__all__ = ["BookingForm", "CompletionForm", "DueItemForm", "OdometerForm"]
