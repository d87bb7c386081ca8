"""What the pages about an odometer ask for."""

from datetime import date
from typing import Any

from django import forms

from config.fields import DayField, MilesField, put_today


class OdometerForm(forms.Form):
    """What the odometer showed at the end of one day."""

    miles = MilesField(label="Odometer")
    read_on = DayField(label="Day")

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"read_on": today}, label_suffix="")
        put_today(self.fields, today)


class ReadingCorrectForm(forms.Form):
    """What the odometer really showed on a day that has a reading."""

    miles = MilesField(label="Odometer")

    def __init__(self, data: Any = None, *, miles: int) -> None:
        super().__init__(data, initial={"miles": miles}, label_suffix="")
