"""Fields for quantities, miles, hours and days, typed on a phone and cleaned to whole or exact figures."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from config import fields
from config.fields import NumberField
from costing.core.money import divide_half_up

_HOURS_AND_MINUTES = re.compile(r"([0-9]{1,4}):([0-5][0-9])")


class MilesField(NumberField):
    """Whole miles."""

    unit = "miles"

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


class DayField(fields.DayField):
    """One day of which there may be money or lessons to log: none lies so far back as a car's first registration."""

    years = range(1990, 2101)
    default_error_messages = {"required": forms.Field.default_error_messages["required"]}
