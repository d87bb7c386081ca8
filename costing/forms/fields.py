"""Fields for quantities, miles, hours and days, typed on a phone and cleaned to whole or exact figures."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.fields import NumberField
from config.showing import day as show_day
from costing.core.money import divide_half_up

#: A year before this is a slip of the keyboard (0026, 1026), not a day in the life of a tuition car.
_EARLIEST = date(1990, 1, 1)
_HOURS_AND_MINUTES = re.compile(r"([0-9]{1,4}):([0-5][0-9])")


class MilesField(NumberField):
    """Whole miles."""

    def __init__(self, **options: Any) -> None:
        options = {"example": "48,210", "least": 0, "most": 999_999, **options}
        super().__init__(places=0, **options)


class CountField(NumberField):
    """A whole number of things."""

    def __init__(self, **options: Any) -> None:
        super().__init__(places=0, **{"example": "6", "least": 0, **options})


class HoursField(NumberField):
    """Hours taught, as whole minutes (`int`): 1.5 and 1:30 are both ninety."""

    def __init__(self, **options: Any) -> None:
        super().__init__(places=2, **{"example": "1.5 or 1:30", "least": 0, "most": 9_000, **options})

    def read(self, text: str) -> int:
        """Whole minutes, half up; a third of an hour written 0.33 is twenty of them."""
        if clock := _HOURS_AND_MINUTES.fullmatch(text.strip()):
            minutes = int(clock[1]) * 60 + int(clock[2])
            self.check_range(Decimal(minutes) / 60)
            return minutes
        return divide_half_up(int(super().read(text) * 6000), 100)


class DayField(forms.DateField):
    """One day; not in the future unless ``may_be_ahead``. The form hands in today as ``today``."""

    today: date | None = None

    def __init__(self, *, may_be_ahead: bool = False, **options: Any) -> None:
        self.may_be_ahead = may_be_ahead
        options.setdefault("error_messages", {})["invalid"] = "Write the day like 5 March 2027 or 05/03/2027."
        super().__init__(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **options)

    def clean(self, value: Any) -> date | None:
        """The day, checked against today and for slips in the year."""
        chosen = super().clean(value)
        if chosen is None:
            return None
        if chosen < _EARLIEST or chosen.year > 2100:
            raise ValidationError("Look at the year: no such day belongs in this book.", code="year")
        if not self.may_be_ahead and self.today and chosen > self.today:
            raise ValidationError(
                f"{show_day(chosen)} has not come yet: today is {show_day(self.today)}.", code="future"
            )
        return chosen


def put_today(fields: Mapping[str, forms.Field], today: date) -> None:
    """Tell every day among ``fields`` what day it is, in the browser's calendar too."""
    for field in fields.values():
        if isinstance(field, DayField):
            field.today = today
            if not field.may_be_ahead:
                field.widget.attrs["max"] = today.isoformat()
