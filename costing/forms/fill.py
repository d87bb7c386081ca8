"""Fuel or charge bought, as typed on a forecourt."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField, PoundsField, with_lately, with_unit
from config.showing import near_day, whole
from costing.forms.entries import EntryForm
from costing.models import Entry, Fill, FillUnit
from fleet.core.odometer import Odometer, Reading
from fleet.core.registration import show
from fleet.models import Car, FuelKind
from fleet.queries import readings_of


class FillForm(EntryForm):
    """Fuel or charge bought. The form asks first for what the pump and the dashboard show."""

    kind, model = "fill", Fill

    unit = forms.ChoiceField(
        label="What went in",
        choices=[("litre", "Petrol or diesel"), ("kwh", "Charge")],
        widget=forms.RadioSelect,
    )
    amount = PoundsField(quantities.FILL_POUNDS, label="Paid")
    quantity = with_unit(NumberField(quantities.FILL, label="Fuel"), "litres")
    odometer = MilesField(label="Odometer")
    filled_on = DayField(label="Day")
    brimmed = forms.BooleanField(label="Filled to the brim", required=False)
    gap_before = forms.BooleanField(label="A fill before this one is not in the book", required=False)

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        fuels = {car.fuel for car in self.cars}
        electric = fuels == {FuelKind.ELECTRIC}
        if FuelKind.PLUGIN_HYBRID not in fuels:
            del self.fields["unit"]
        self.fields["brimmed"].help_text = "Miles per gallon are worked out from one full tank to the next."
        if electric:
            self.fields["quantity"].label = "Charge"
            with_unit(self.fields["quantity"], "kWh")
            self.fields["brimmed"].label = "Charged as full as you usually charge it"
            self.fields["brimmed"].help_text = "Miles per kWh are worked out from one full charge to the next."
            self.fields["gap_before"].label = "A charge before this one is not in the book"
        elif fuels & {FuelKind.ELECTRIC, FuelKind.PLUGIN_HYBRID}:
            self.fields["quantity"].label = "Fuel or charge"
            with_unit(self.fields["quantity"], "litres or kWh")
            self.fields["brimmed"].label = "Filled or charged as full as it goes"
            self.fields["brimmed"].help_text = "Economy is worked out from one full tank, or full charge, to the next."

    def put_hints(self, saved: Entry | None = None) -> None:
        """Say beside the odometer what each car's showed last; of a car handed over that is no longer the member's."""
        kept = [car for car in self.cars if car.keeper_id == self.by.pk]
        with_lately(self.fields["odometer"], _last_readings(kept, self.today, saved))

    @staticmethod
    def new_initial(today: date) -> dict[str, Any]:
        return {"filled_on": today, "brimmed": True, "unit": FillUnit.LITRE}

    @staticmethod
    def initial_of(entry: Fill) -> dict[str, Any]:
        names = ("unit", "amount", "odometer", "filled_on", "brimmed", "gap_before")
        return {name: getattr(entry, name) for name in names} | {"quantity": f"{entry.quantity.normalize():f}"}

    def clean(self) -> dict[str, Any]:
        """Settle the unit by the car's fuel if that leaves no choice."""
        car = self.chosen_car
        if car and car.fuel == FuelKind.ELECTRIC:
            self.cleaned_data["unit"] = FillUnit.KWH
        elif car and car.fuel != FuelKind.PLUGIN_HYBRID:
            self.cleaned_data["unit"] = FillUnit.LITRE
        return self.cleaned_data


def _last_readings(cars: Sequence[Car], today: date, saved: Entry | None) -> str:
    """What the odometer of each car showed last. A fill of today that was just saved need not be asked for."""
    odometers = {}
    if isinstance(saved, Fill) and saved.filled_on == today:
        odometers[saved.car_id] = Odometer([Reading(saved.filled_on, saved.odometer)])
    odometers |= readings_of([car.pk for car in cars if car.pk not in odometers], since=today)
    known = [(car, odometers[car.pk]) for car in cars if odometers[car.pk]]
    return "; ".join(
        f"{f'{show(car.registration)} ' if len(cars) > 1 else ''}"
        f"{whole(odometer.at(odometer.last_on))}, {near_day(odometer.last_on, today)}"
        for car, odometer in known
    )
