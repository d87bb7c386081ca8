"""A member's last day, and what becomes of each of their cars."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from config.fields import DayField, MilesField, put_today, unmarked
from fleet.actions import Becomes
from fleet.core.registration import show
from fleet.forms.odometer import OdometerForm
from fleet.models import Car
from instructors.models import Member

_TAKEN_BY = "member:"
_OUT_OF_SERVICE, _NOBODY = "out_of_service", "nobody"
_WITHOUT_A_TAKER = [
    (_OUT_OF_SERVICE, "It leaves the book that day"),
    (_NOBODY, "Nobody for now; the list of cars says so"),
]


class LeavingForm(OdometerForm):
    """The last day, which may be in the future, and two fields for each car. ``becomes`` has the decisions made."""

    day_field = "left_on"

    left_on = DayField(label="Last day as a member", may_be_ahead=True)

    def __init__(
        self, data: Any = None, *, left_on: date, today: date, cars: Sequence[Car], takers: Sequence[Member]
    ) -> None:
        self.made_fields = [f"odometer_{car.pk}" for car in cars]
        super().__init__(data, initial={"left_on": left_on}, label_suffix="")
        self.cars = list(cars)
        self.takers = {f"{_TAKEN_BY}{member.pk}": member for member in takers}
        takings = [(value, f"{member.name} takes it on") for value, member in self.takers.items()]
        for car in cars:
            becomes = forms.ChoiceField(
                label="What becomes of it",
                choices=[("", "Choose…"), *takings, *_WITHOUT_A_TAKER],
                required=False,
                error_messages={"invalid_choice": f"Choose what becomes of {show(car.registration)}."},
            )
            odometer = MilesField(label="Odometer that day", required=False)
            # Needed unless the last day is yet to come.
            self.fields[f"becomes_{car.pk}"], self.fields[f"odometer_{car.pk}"] = unmarked(becomes), unmarked(odometer)
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Each decision needs the odometer."""
        for car in self.cars:
            odometer = f"odometer_{car.pk}"
            is_decided, is_wrong = self.cleaned_data.get(f"becomes_{car.pk}"), odometer in self.errors
            if is_decided and not is_wrong and self.cleaned_data[odometer] is None:
                self.add_error(odometer, f"Give what {show(car.registration)} showed on that day.")
        return self.cleaned_data

    @property
    def becomes(self) -> dict[int, Becomes]:
        """The decisions by the car's id, once the form is valid."""
        found = {}
        for car in self.cars:
            if chosen := self.cleaned_data[f"becomes_{car.pk}"]:
                odometer = self.cleaned_data[f"odometer_{car.pk}"]
                found[car.pk] = Becomes(odometer, self.takers.get(chosen), chosen == _OUT_OF_SERVICE)
        return found
