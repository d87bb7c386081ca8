"""The forms about defects, cleaned to what the actions take."""

from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import DayField, PhotoField, PoundsField, RefField, put_today
from fleet.core.defects import Severity
from fleet.costs import WorkCost
from fleet.models import Defect, FoundBy


def _words(label: str, **options: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=500, widget=forms.Textarea(attrs={"rows": 2}), **options)


def _severity() -> forms.ChoiceField:
    return forms.ChoiceField(
        label="How serious is it?",
        choices=[(severity.value, severity.words) for severity in Severity],
        widget=forms.RadioSelect,
        help_text="If in doubt, choose the more serious one and ask a qualified technician.",
        error_messages={"required": "Choose one."},
    )


class DefectForm(forms.Form):
    """What is wrong with a car. Its reference is made when the page is opened: sent twice, it counts once."""

    ref = RefField()
    description = _words("What is wrong?", help_text="What, and where on the car.")
    severity = _severity()
    found_on = DayField(label="Day it was found")
    found_by = forms.ChoiceField(
        label="How it was found",
        choices=[(FoundBy.OTHER, FoundBy.OTHER.label), (FoundBy.MOT, FoundBy.MOT.label)],
        initial=FoundBy.OTHER,
        widget=forms.RadioSelect,
    )
    picture = PhotoField(label="Photo", help_text="Where and when it was taken is removed before it is kept.")

    def __init__(self, data: Any = None, files: Any = None, *, today: date) -> None:
        super().__init__(data, files, initial={"found_on": today}, label_suffix="")
        put_today(self.fields, today)


class TakeInHandForm(forms.Form):
    """Who is dealing with a defect, if there is anything to say."""

    words = _words("Who is dealing with it, and when", required=False)

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")


class ReassessForm(forms.Form):
    """How serious a defect is after another look."""

    severity = _severity()
    words = _words("Why", help_text="What was seen, and by whom.")

    def __init__(self, data: Any = None, *, defect: Defect) -> None:
        super().__init__(data, initial={"severity": defect.severity}, label_suffix="")


class CloseForm(forms.Form):
    """What was done about a defect, and for the car's keeper what it cost them."""

    cost_ref = RefField()
    words = _words("What was done, and by whom")
    closed_on = DayField(label="Day it was put right")
    amount = PoundsField(quantities.SOME_BILL_POUNDS, label="What it cost you", required=False, example="86.40")
    supplier = forms.CharField(label="Paid to", max_length=120, required=False)

    def __init__(self, data: Any = None, *, today: date, is_keeper: bool) -> None:
        super().__init__(data, initial={"closed_on": today}, label_suffix="")
        put_today(self.fields, today)
        self.fields["amount"].help_text = (
            "Logged as a repair among your costs, and shown to nobody else. For new tyres leave it empty and log a "
            "cost, so that it is spread over their miles."
        )
        if not is_keeper:
            del self.fields["cost_ref"], self.fields["amount"], self.fields["supplier"]

    def clean(self) -> dict[str, Any]:
        """The cost, if there is one, as a repair paid on the day it was done."""
        data = self.cleaned_data
        amount, supplier = data.pop("amount", None), data.pop("supplier", "")
        if amount and data.get("closed_on"):
            note = data.get("words", "")
            data["cost"] = WorkCost("repairs", data["closed_on"], amount, supplier=supplier, note=note)
        return data


class ReopenForm(forms.Form):
    """Why a closed defect is open again."""

    words = _words("What is still wrong, or wrong again?")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")
