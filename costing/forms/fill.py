"""Fuel or charge bought, as typed on a forecourt."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from itertools import permutations
from typing import Any

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField, PoundsField, with_lately, with_unit
from config.receipts_field import ReceiptsField
from config.showing import near_day, pounds, whole
from costing.core.plausible import typed
from costing.core.third import agree, amount_of, price_of, quantity_of
from costing.forms import raw
from costing.forms.entries import EntryForm
from costing.models import Fill, FillUnit
from costing.queries.lately import usual_prices
from costing.wording import fill_words
from costing.wording.doubts import FILL_DOUBTS
from fleet.core.plausible.doubt import Change, Meaning, Typed
from fleet.core.registration import show
from fleet.models import Car, FuelKind
from fleet.queries import readings_of

#: The figures that a pump and a dashboard show, with their places.
_TYPED = (("amount", 2), ("quantity", 3), ("odometer", 0))


class FillForm(EntryForm):
    """Fuel or charge bought. The form asks first for what the pump and the dashboard show."""

    kind, model = "fill", Fill
    doubt_words = FILL_DOUBTS

    unit = forms.ChoiceField(
        label="What went in",
        choices=[("litre", "Petrol or diesel"), ("kwh", "Charge")],
        widget=forms.RadioSelect,
    )
    amount = PoundsField(quantities.FILL_POUNDS, label="Paid", required=False)
    quantity = with_unit(NumberField(quantities.FILL, label="Fuel", required=False), "litres")
    unit_price = with_unit(NumberField(quantities.PENCE_A_LITRE, label="Price", required=False), "p a litre")
    odometer = MilesField(label="Odometer")
    filled_on = DayField(label="Day")
    brimmed = forms.BooleanField(label="Filled to the brim", required=False)
    gap_before = forms.BooleanField(label="A fill before this one is not in the book", required=False)
    receipt = ReceiptsField(label="Receipt")

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        fuels = {car.fuel for car in self.cars}
        if fuels and FuelKind.PLUGIN_HYBRID not in fuels:
            del self.fields["unit"]
        words = fill_words(fuels)
        self.fields["quantity"].label, self.fields["brimmed"].label = words.what, words.brimmed
        self.fields["brimmed"].help_text, self.fields["gap_before"].label = words.about, words.gap
        with_unit(self.fields["quantity"], words.units)
        with_unit(self.fields["unit_price"], words.price)
        if not self.entry:
            self.put_keys("amount", "quantity", "unit_price", "odometer")
            self.fields["unit_price"].widget.attrs["data-aside"] = ""

    def put_hints(self) -> None:
        """Say beside the odometer what each car's showed last; of a car handed over that is no longer the member's."""
        kept = [car for car in self.cars if car.keeper_id == self.by.pk]
        with_lately(self.fields["odometer"], _last_readings(kept, self.today))
        prices = usual_prices(self.by, self.cars[:1], self.today)[self.cars[0]]
        if prices:
            with_lately(self.fields["quantity"], f"usual {' or '.join(f'{price}p' for price in prices.values())}")

    @staticmethod
    def new_initial(today: date) -> dict[str, Any]:
        return {"filled_on": today, "brimmed": True, "unit": FillUnit.LITRE}

    @staticmethod
    def initial_of(entry: Fill) -> dict[str, Any]:
        names = ("unit", "amount", "odometer", "filled_on", "brimmed", "gap_before")
        return {name: getattr(entry, name) for name in names} | {"quantity": f"{entry.quantity.normalize():f}"}

    def typed(self, figures: Mapping[str, Any]) -> Typed:
        return typed.fill(figures)

    def as_sent(self) -> Typed | None:
        amount, quantity, odometer = (raw.figure(self.text_of(name), places) for name, places in _TYPED)
        day, car = raw.day(self.text_of("filled_on")), self.chosen_car
        if amount is None or not quantity or odometer is None or day is None or car is None:
            return None
        return {
            "filled_on": day,
            "odometer": abs(odometer),
            "amount": abs(amount),
            "quantity": abs(quantity),
            "unit": FillUnit.KWH.value if self._is_charge(car) else FillUnit.LITRE.value,
            "brimmed": "on" if self.text_of("brimmed") else "",
            "gap_before": "on" if self.text_of("gap_before") else "",
        }

    def meant_instead(self) -> Iterable[Meaning]:
        """Yield the figures in each other's rows, then what may be meant by one of them."""
        names = [name for name, _ in _TYPED]
        typed = [raw.bare(self.text_of(name)) for name in names]
        if all(raw.figure(text, 0) is not None for text in typed):
            for texts in list(permutations(typed))[1:]:
                moved = zip(names, typed, texts, strict=True)
                yield Meaning(tuple(Change(name, text) for name, was, text in moved if text != was))
        yield from super().meant_instead()

    def _is_charge(self, car: Car) -> bool:
        return car.fuel == FuelKind.ELECTRIC or (
            car.fuel == FuelKind.PLUGIN_HYBRID and self.text_of("unit") == FillUnit.KWH
        )

    def clean(self) -> dict[str, Any]:
        """Settle the unit by the car's fuel if that leaves no choice, and find the third figure of a fill from two."""
        car, data = self.chosen_car, self.cleaned_data
        if car and car.fuel == FuelKind.ELECTRIC:
            data["unit"] = FillUnit.KWH
        elif car and car.fuel != FuelKind.PLUGIN_HYBRID:
            data["unit"] = FillUnit.LITRE
        price = data.pop("unit_price", None)
        if not {"amount", "quantity", "unit_price"} & self.errors.keys():
            self._find_third(data.get("amount"), data.get("quantity"), price)
        return data

    def _find_third(self, amount: Decimal | None, quantity: Decimal | None, price: Decimal | None) -> None:
        data = self.cleaned_data
        if amount is not None and quantity is not None:
            if price is not None and not agree(amount, quantity, price):
                paid, one = pounds(amount_of(quantity, price)), price_of(amount, quantity)
                self.add_error("unit_price", f"This price would make it {paid}: what was paid comes to {one}p for one.")
        elif price is not None and quantity is not None:
            self._take("amount", quantities.FILL_POUNDS, amount_of(quantity, price))
        elif price and amount is not None:
            self._take("quantity", quantities.FILL, quantity_of(amount, price))
        else:
            for name in ("amount", "quantity"):
                if data.get(name) is None:
                    self.add_error(name, "Fill this in.")

    def _take(self, name: str, quantity: quantities.Number, found: Decimal) -> None:
        """Take the third figure, unless it is none that a fill can have."""
        try:
            self.cleaned_data[name] = quantity.check(found)
        except quantities.Wrong as wrong:
            self.add_error("unit_price", f"At this price, {str(self.fields[name].label).lower()} {wrong}.")


def _last_readings(cars: Sequence[Car], today: date) -> str:
    """What the odometer of each car showed last."""
    odometers = readings_of([car.pk for car in cars], since=today)
    known = [(car, odometers[car.pk]) for car in cars if odometers[car.pk]]
    return "; ".join(
        f"{f'{show(car.registration)} ' if len(cars) > 1 else ''}"
        f"{whole(odometer.at(odometer.last_on))}, {near_day(odometer.last_on, today)}"
        for car, odometer in known
    )
