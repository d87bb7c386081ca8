"""What repeats: entering it, changing its sum from some day on, stopping it."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, cast

from django import forms

from config import budgets, quantities
from config.asking import AskingForm
from config.fields import DayField, NumberField, PoundsField, RefField, put_today
from config.showing import day
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CHOICES
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.plausible import repeat, typed
from costing.core.plausible.running import doubts_of
from costing.core.repeats import Due, Repeating, next_dues
from costing.forms.entries import CarField
from costing.models import Interval
from costing.queries.plausible import limits_of
from costing.queries.repeats import running_of
from costing.wording.doubts import REPEAT_DOUBTS
from fleet.core.plausible.doubt import Change, Doubt, Meaning
from fleet.models import Car
from instructors.models import Member

#: What is asked about a sum.
_SUMS = ("sum", "sum_year", "sum_group", "sum_new", "sum_mot")


class RepeatForm(AskingForm):
    """A cost that comes again. ``cleaned_data`` has the arguments of `record_repeat`.

    It asks whether the same runs already, and of its first payment what the form of a cost would ask of the sum, and of
    days that are covered already.
    """

    doubt_words = REPEAT_DOUBTS

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
        initial=True,
        required=False,
    )
    supplier = forms.CharField(label="Paid to", max_length=120, required=False)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any = None, *, by: Member, cars: Sequence[Car], today: date) -> None:
        self.by, self.today = by, today
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
        """Only what usually pays for days does: what an instalment covers follows from the agreement."""
        data = self.cleaned_data
        if (category := COST_CATEGORIES.get(data.get("category", ""))) and category.covers != "days":
            data["covers_its_days"] = False
        return data

    def doubts(self) -> Iterable[Doubt]:
        """Return what can hardly be right by the member's own records of the car."""
        first = self._first()
        return [] if first is None else [*self._same(), *self._of_the(first)]

    def _same(self) -> list[Doubt]:
        """Whether the same runs on the car already."""
        data = self.cleaned_data
        running = [
            repeat.Runs(one.category, to_pence(one.amount), one.interval, one.starts_on)
            for one in running_of(self.by, self.today)
            if one.car_id == data["car"].pk
        ]
        told = {name: data[name] for name in ("category", "interval")}
        told |= {"amount": to_pence(data["amount"]), "car": data["car"].registration}
        return repeat.doubts(told, repeat.limits(running))

    def _of_the(self, first: Due) -> list[Doubt]:
        """What is asked of the payment that is made first."""
        data = self.cleaned_data
        days = first.days if data["covers_its_days"] else None
        told = {"category": data["category"], "amount": data["amount"], "paid_on": first.on}
        told |= {"covers_from": days and days.first, "covers_to": days and days.last}
        limits = limits_of("cost", self.by, data["car"], self.today, first.on)
        found = {doubt.reason: doubt for doubt in doubts_of("cost", typed.cost(told), limits)}
        # One that was logged by hand is taken as this payment, with its days.
        asked = _SUMS if "same_cost" in found else (*_SUMS, "cover_overlap")
        return [_of_first(doubt) for reason, doubt in found.items() if reason in asked]

    def _first(self) -> Due | None:
        """The first payment of which an entry will be made."""
        data = self.cleaned_data
        repeating = Repeating(data["starts_on"], data["interval"], to_pence(data["amount"]), data["payments"])
        return next(iter(next_dues(repeating, self.today - ONE_DAY if data["only_from_now"] else None, 1)), None)


def _of_first(doubt: Doubt) -> Doubt:
    """A doubt about the cost that is made first, by the fields of what repeats."""
    if doubt.reason == "cover_overlap":
        after = date.fromisoformat(str(doubt.figures["until"])) + ONE_DAY
        meant = Meaning((Change("starts_on", after.isoformat()),))
        return doubt._replace(field="starts_on", meanings=(meant,))
    meanings = [one for one in doubt.meanings if {change.field for change in one.changes} == {"amount"}]
    return doubt._replace(meanings=tuple(meanings))


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
