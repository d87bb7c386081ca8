"""What repeats: entering it, changing its sum from some day on, stopping it."""

from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from django import forms

from config import budgets, quantities
from config.fields import DayField, NumberField, PoundsField, RefField, put_today
from config.showing import day
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CHOICES
from costing.core.repeats import Due
from costing.forms.entries import CarField
from costing.models import Interval
from fleet.models import Car


class RepeatForm(forms.Form):
    """A cost that comes again. ``cleaned_data`` has the arguments of `record_repeat`."""

    ref = RefField()
    car = CarField()
    category = forms.ChoiceField(
        label="What for", choices=[("", "Choose…"), *ENTRY_CHOICES], error_messages={"required": "Choose one."}
    )
    amount = PoundsField(quantities.BILL_POUNDS, label="Each payment", example="42.10")
    interval = forms.ChoiceField(
        label="How often", choices=Interval.choices, error_messages={"required": "Choose one."}
    )
    starts_on = DayField(
        label="First day it falls due",
        may_be_ahead=True,
        help_text=f"At most {budgets.REPEAT_YEARS_BACK} years back, unless you begin with the next.",
    )
    only_from_now = forms.BooleanField(
        label="I have entered the earlier ones: begin with the next",
        help_text="Only if the first day has passed.",
        required=False,
    )
    payments = NumberField(
        quantities.PAYMENTS,
        label="Number of payments",
        help_text="Leave it empty if it goes on until you stop it.",
        required=False,
    )
    covers_its_days = forms.BooleanField(
        label="Each pays for the days up to the next",
        help_text="Insurance, tax or breakdown cover then counts as paid until that day.",
        required=False,
    )
    supplier = forms.CharField(label="Paid to", max_length=120, required=False)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any = None, *, cars: Sequence[Car], today: date) -> None:
        self.today = today
        super().__init__(data, initial={"interval": Interval.MONTH, "starts_on": today}, label_suffix="")
        put_today(self.fields, today)
        cast(CarField, self.fields["car"]).offer(cars)

    def clean_amount(self) -> Any:
        """Refuse a cost of nothing."""
        amount = self.cleaned_data["amount"]
        if amount == 0:
            raise forms.ValidationError("You need not enter a cost of nothing.")
        return amount

    def clean(self) -> dict[str, Any]:
        """What an instalment covers follows from the agreement."""
        data = self.cleaned_data
        if (category := COST_CATEGORIES.get(data.get("category", ""))) and category.is_instalment:
            data["covers_its_days"] = False
        return data


class RepeatChangeForm(forms.Form):
    """Another sum for what repeats, from one of its days to come on."""

    amount = PoundsField(quantities.BILL_POUNDS, label="Each payment", example="45.60")
    from_on = forms.TypedChoiceField(
        label="From", coerce=date.fromisoformat, error_messages={"invalid_choice": "Choose one of these days."}
    )

    clean_amount = RepeatForm.clean_amount

    def __init__(self, data: Any = None, *, coming: Sequence[Due]) -> None:
        super().__init__(data, label_suffix="")
        self.fields["from_on"].choices = [(due.on.isoformat(), day(due.on)) for due in coming]  # type: ignore[attr-defined]


class RepeatStopForm(forms.Form):
    """The last day for which an entry may be made."""

    stopped_on = DayField(label="Nothing after", may_be_ahead=True, help_text="A payment due on that day is made.")

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"stopped_on": today}, label_suffix="")
        put_today(self.fields, today)
