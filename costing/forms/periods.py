"""The period that a page looks at."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from config.fields import DayField, put_today, unmarked
from costing.core.catalogue.costs import ENTRY_CATEGORIES, FUEL, GROUPS_ASKED_FOR
from costing.core.periods import LONGEST_DAYS
from costing.core.records import Period
from fleet.core.registration import show
from fleet.models import Car


class PeriodForm(forms.Form):
    """From one day to another, both counted. ``cleaned_data["period"]`` is the `Period`."""

    first = DayField(label="From")
    last = DayField(label="To")

    def __init__(self, data: Any = None, *, today: date, initial: Any = None) -> None:
        super().__init__(data, initial=initial, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Check that the days are in order and not too far apart."""
        data = self.cleaned_data
        first, last = data.get("first"), data.get("last")
        if first and last:
            if last < first:
                self.add_error("last", "The last day is before the first.")
            elif (last - first).days > LONGEST_DAYS:
                self.add_error("first", "The longest period is ten years: check the year.")
            else:
                data["period"] = Period(first, last)
        return data


class ThanForm(PeriodForm):
    """With which other days a period is compared; its fields stand beside those of that period in one address."""

    def add_prefix(self, field_name: str) -> str:
        """Name a field as it stands in an address: than_first."""
        return f"than_{field_name}"


class StatementForm(PeriodForm):
    """Of what a statement is asked for: a period, and perhaps one car of the member's own."""

    car = unmarked(
        forms.ChoiceField(
            label="Car", required=False, error_messages={"invalid_choice": "Choose one of your own cars."}
        )
    )

    def __init__(self, data: Any, *, today: date, cars: Sequence[Car]) -> None:
        super().__init__(data, today=today)
        self.cars = {car.registration: car for car in cars}
        choices = [("", "All"), *((mark, show(mark)) for mark in self.cars)]
        self.fields["car"].choices = choices  # type: ignore[attr-defined]

    @property
    def chosen_car(self) -> Car | None:
        """The car of a valid form; None for all of them."""
        return self.cars.get(self.cleaned_data["car"])


#: The categories of the true cost that are made of entries: of the others, agreements and valuations tell.
_OF_ENTRIES = [(row.name, row.label) for row in (FUEL, *ENTRY_CATEGORIES) if not row.is_instalment]
#: What a chart draws as one may be asked for as one.
_TOGETHER = [(name, group.spoken) for name, group in GROUPS_ASKED_FOR.items()]


class BehindForm(StatementForm):
    """Whose entries are asked for: those of a statement, and perhaps of one category of the true cost, or one group."""

    category = unmarked(
        forms.ChoiceField(
            label="Category",
            required=False,
            choices=[("", "All"), *_OF_ENTRIES, ("Several as one", _TOGETHER)],
            error_messages={"invalid_choice": "Choose one of the categories."},
        )
    )
    field_order = ("first", "last", "category", "car")

    @property
    def label(self) -> str:
        """What a valid form calls the figure."""
        category = self.cleaned_data["category"]
        return dict([("", "True cost"), *_OF_ENTRIES, *_TOGETHER])[category]
