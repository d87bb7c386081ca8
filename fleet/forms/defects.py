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


_WHO = "The garage or the person."
_PAPER = "Of the garage's bill or the test paper. Your coordinators see it too: cover up what you like of the sums."


class ReassessForm(forms.Form):
    """How serious a defect is after another look; if it is grave, also who says that it is less so."""

    severity = _severity()
    words = _words("Why", help_text="What was seen or done.")
    done_by = forms.CharField(label="Who says so", max_length=120, required=False, help_text=_WHO)
    done_on = DayField(label="Day they saw it", required=False)
    picture = PhotoField(label="Photo of the paper", help_text=_PAPER)

    def __init__(self, data: Any = None, files: Any = None, *, defect: Defect, today: date) -> None:
        start = {"severity": defect.severity, "done_on": today}
        super().__init__(data, files, initial=start, label_suffix="")
        severity = Severity(defect.severity)
        if not severity.stops_car:
            del self.fields["done_by"], self.fields["done_on"]
        if severity is not Severity.DANGEROUS:
            del self.fields["picture"]
        put_today(self.fields, today)


class CloseForm(forms.Form):
    """What was done about a defect, by whom and when, and for the car's keeper what it cost them."""

    cost_ref = RefField()
    words = _words("What was done")
    done_by = forms.CharField(label="By whom", max_length=120, help_text=_WHO)
    closed_on = DayField(label="Day it was put right")
    picture = PhotoField(label="Photo of the paper", help_text=_PAPER)
    amount = PoundsField(quantities.SOME_BILL_POUNDS, label="What it cost you", required=False, example="86.40")

    def __init__(self, data: Any = None, files: Any = None, *, defect: Defect, today: date, is_keeper: bool) -> None:
        super().__init__(data, files, initial={"closed_on": today}, label_suffix="")
        severity = Severity(defect.severity)
        self.fields["done_by"].required = severity.stops_car
        if severity is not Severity.DANGEROUS:
            del self.fields["picture"]
        put_today(self.fields, today)
        self.fields["amount"].help_text = (
            "Logged as a repair among your costs, and shown to nobody else. For new tyres leave it empty and log a "
            "cost, so that it is spread over their miles."
        )
        if not is_keeper:
            del self.fields["cost_ref"], self.fields["amount"]

    def clean(self) -> dict[str, Any]:
        """The cost, if there is one, as a repair paid on the day it was done to whoever did it."""
        data = self.cleaned_data
        amount = data.pop("amount", None)
        if amount and data.get("closed_on"):
            note, supplier = data.get("words", ""), data.get("done_by", "")
            data["cost"] = WorkCost("repairs", data["closed_on"], amount, supplier=supplier, note=note)
        return data


_ONE_KEY = "Press one of the two keys."


class SecondForm(forms.Form):
    """What a second member says of a danger that is said to be over: two keys, and what they saw."""

    YES, NO = "yes", "no"

    answer = forms.ChoiceField(
        choices=[(YES, YES), (NO, NO)],
        error_messages={"required": _ONE_KEY, "invalid_choice": _ONE_KEY},
    )
    words = _words("What you saw", required=False, help_text="Needed if it is not put right.")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")


class ReopenForm(forms.Form):
    """Why a closed defect is open again."""

    words = _words("What is still wrong, or wrong again?")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")
