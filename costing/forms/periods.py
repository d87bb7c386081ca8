"""The period that a page looks at."""

from datetime import date
from typing import Any

from django import forms

from config.fields import DayField, put_today
from costing.core.records import Period

#: Ten years: a longer period is a slip in the year, and would take long to work out.
_LONGEST_DAYS = 3_660


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
            elif (last - first).days > _LONGEST_DAYS:
                self.add_error("first", "The longest period is ten years: check the year.")
            else:
                data["period"] = Period(first, last)
        return data
