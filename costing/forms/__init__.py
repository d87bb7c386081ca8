"""Forms that turn what a member types into domain types, or say beside the field what is wrong."""

from costing.forms.agreements import AgreementForm, ValuationForm
from costing.forms.cost import CostForm
from costing.forms.entries import EntryForm
from costing.forms.fill import FillForm
from costing.forms.receipts import ReceiptForm
from costing.forms.repeats import RepeatChangeForm, RepeatForm, RepeatStopForm
from costing.forms.teaching import TeachingForm
from costing.forms.week import WeekForm

__all__ = [
    "AgreementForm",
    "CostForm",
    "EntryForm",
    "FillForm",
    "ReceiptForm",
    "RepeatChangeForm",
    "RepeatForm",
    "RepeatStopForm",
    "TeachingForm",
    "ValuationForm",
    "WeekForm",
]
