"""What we ask for when an accepted offer becomes a car."""

from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from django import forms

from config.fields import DayField, MilesField, PoundsField, QuantityField, put_today, unmarked
from costing.choosing.core.case import Offer
from fleet.core import registration
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car, FuelKind, Transmission

NEW_CAR = "new"
#: What a tuition car is fitted out with, by the field for its cost.
FIT_OUT = {"dual_controls_cost": "Dual controls", "plates_cost": "Plates", "mirror_cost": "Second mirror"}
#: The label and hint of each due day that may be known when the car comes, by kind of due item.
_DUE = {name: kind.of_new_car for name, kind in DUE_KINDS.items() if kind.of_new_car}
_OF_A_NEW_CAR = (
    "registration",
    "description",
    "fuel",
    "transmission",
    "first_registered",
    "odometer",
    "dual_controls",
    "soft_top",
)


def _cost(label: str) -> PoundsField:
    return PoundsField(label=label, required=False, example="340.00")


class AcceptOfferForm(forms.Form):
    """Which car the offer became, when, and what is known about it. ``cleaned_data`` is what the action takes."""

    starts_on = DayField(label="When does it start?", may_be_ahead=True, help_text="The first day of the agreement.")
    car = forms.ChoiceField(
        label="Which car is it?", widget=forms.RadioSelect, error_messages={"required": "Choose one."}
    )
    registration = unmarked(
        QuantityField(
            registration.read,
            label="Registration mark",
            max_length=12,
            required=False,
            widget=forms.TextInput(
                attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
            ),
            help_text="As on the number plate, with or without spaces.",
        )
    )
    description = forms.CharField(label="Description", max_length=120, required=False)
    fuel = unmarked(forms.ChoiceField(label="Fuel", required=False, choices=[("", "Choose…"), *FuelKind.choices]))
    transmission = forms.ChoiceField(
        label="Gearbox", required=False, choices=Transmission.choices, widget=forms.RadioSelect
    )
    first_registered = DayField(label="First registered on", required=False, may_be_ahead=True)
    odometer = MilesField(
        label="Odometer on the first day",
        required=False,
        help_text="If that day is still to come, what it shows today.",
    )
    dual_controls = forms.BooleanField(label="Dual controls are fitted", required=False)
    soft_top = forms.BooleanField(label="It’s a soft top", required=False)
    dual_controls_cost = _cost("Dual controls")
    plates_cost = _cost("Plates")
    mirror_cost = _cost("Second mirror")

    def __init__(
        self, data: Any = None, *, today: date, offer: Offer, burns: str, starts_on: date, cars: Sequence[Car]
    ) -> None:
        start = {
            "starts_on": starts_on,
            "car": NEW_CAR,
            "description": offer.name,
            "fuel": burns,
            "transmission": Transmission.MANUAL,
            "first_registered": offer.first_registered,
        }
        super().__init__(data, initial=start, label_suffix="")
        for kind, (label, hint) in _DUE.items():
            self.fields[kind] = DayField(label=label, required=False, may_be_ahead=True, help_text=hint)
        put_today(self.fields, today)
        self.cars = {car.registration: car for car in cars}
        choices = [(mark, f"{registration.show(mark)} {car.description}".strip()) for mark, car in self.cars.items()]
        cast(forms.ChoiceField, self.fields["car"]).choices = [(NEW_CAR, "A car that isn’t in the book yet"), *choices]

    @property
    def due_fields(self) -> list[forms.BoundField]:
        """The fields for days on which something falls due."""
        return [self[kind] for kind in _DUE]

    @property
    def picks_a_car(self) -> bool:
        """Whether the member keeps a car to choose from."""
        return bool(self.cars)

    def clean(self) -> dict[str, Any]:
        """Check what a new car needs, and sort the values into the arguments of the action."""
        data = self.cleaned_data
        is_new = data.get("car") == NEW_CAR
        if is_new:
            for name, words in (("registration", "Write it as on the number plate."), ("fuel", "Choose one.")):
                if not data.get(name) and name not in self.errors:
                    self.add_error(name, words)
            if not data.get("transmission"):
                data["transmission"] = Transmission.MANUAL
        return {
            "starts_on": data.get("starts_on"),
            "car": {name: data.get(name) for name in _OF_A_NEW_CAR} if is_new else self.cars.get(data.get("car", "")),
            "due": {kind: data[kind] for kind in _DUE if data.get(kind)},
            "fit_out": {what: data[name] for name, what in FIT_OUT.items() if data.get(name)},
        }
