"""The slip of “Rent or your own?”: nine figures, and further ones that narrow the answer."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from config import quantities
from config.fields import MilesField, NumberField, PoundsField, Question, unmarked, with_lately, with_unit
from config.showing import pounds
from costing.choosing.services.two_quotes import USUALLY_INCLUDED, Asked, asked_next
from costing.core.catalogue.running import AS_PAID, FUEL, RUNNING_PARTS, When
from costing.core.money import to_pence

#: The nine, in the order of the slip.
RENT_FIELDS = ("rent",)
OWN_FIELDS = ("price", "deposit", "payment", "payments", "final_payment", "value_at_horizon")
USE_FIELDS = ("months", "miles_per_year")
_UNITS = {
    When.AT_START: "once",
    When.PREMIUMS: "a year",
    When.YEAR_STARTS: "a year",
    When.YEAR_ENDS_WITH_MOT: "each",
    When.MONTHLY: "a year",
    When.BY_SET: "a set",
}


def _money(label: str, unit: str = "") -> PoundsField:
    return unmarked(with_unit(PoundsField(quantities.POUNDS, label=label, required=False), unit))


def _number(quantity: quantities.Number, label: str, unit: str) -> NumberField:
    return unmarked(with_unit(NumberField(quantity, label=label, required=False), unit))


class RentOrOwnForm(forms.Form):
    """What two quotes say. Every field may stay empty: what is not told is never taken as nothing.

    Once the form is valid, ``told`` has the figures as `two_quotes` takes them, and ``asked`` what to type next.
    """

    rent = _money("Rent", "a week")
    price = _money("Price")
    deposit = _money("Deposit")
    payment = _money("Payment", "a month")
    payments = _number(quantities.OFFER_PAYMENTS, "For", "months")
    final_payment = _money("Final payment")
    value_at_horizon = _money("May fetch", "at the end")
    months = _number(quantities.MONTHS, "Compare", "months")
    miles_per_year = unmarked(with_unit(MilesField(quantities.SOME_MILES_A_YEAR, label="Miles", required=False), "a year"))
    includes = forms.MultipleChoiceField(
        label="The rent includes",
        choices=[(part.name, part.as_included) for part in RUNNING_PARTS.values()],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        initial=sorted(USUALLY_INCLUDED),
    )
    #: Sent with the ticks, because a form with none ticked would otherwise look like one that was not asked.
    includes_asked = forms.CharField(widget=forms.HiddenInput, required=False, initial="1")
    rent_damage = _money("Damage when it goes back", "rented")
    rent_fuel = _number(quantities.PENCE_A_MILE, "Fuel of the rented car", "p a mile")
    own_fuel = _number(quantities.PENCE_A_MILE, "Fuel of your own", "p a mile")
    fees = _money("Fees of the credit", "once")
    mileage_allowance = unmarked(
        with_unit(MilesField(quantities.MILES_A_YEAR, label="Limit of miles (PCP)", required=False), "a year")
    )
    excess_pence_per_mile = _number(quantities.EXCESS_PENCE, "Each mile beyond it", "pence")
    damage = _money("Damage when a PCP car goes back", "your own")

    def __init__(self, data: Any = None, *, medians: Mapping[str, Decimal] | None = None) -> None:
        super().__init__(data, label_suffix="")
        self.told: dict[str, Any] = {}
        self.asked: Asked | None = None
        for part in AS_PAID:
            if part is FUEL:
                continue
            self.fields[part.key] = _money(part.words, _UNITS[part.when])
            if part.life_key:
                self.fields[part.life_key] = _number(quantities.TYRE_MILES, "A set lasts", "miles")
        for key, median in (medians or {}).items():
            if key in self.fields:
                with_lately(self.fields[key], f"co-op’s median {pounds(median)}")

    def clean(self) -> dict[str, Any]:
        """Turn what was typed into pence and exact numbers, and find what to type next."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        for name, field in self.fields.items():
            value = cleaned.get(name)
            if isinstance(field, PoundsField):
                self.told[name] = None if value is None else to_pence(value)
            elif name not in ("payments", "months"):
                self.told[name] = Fraction(value) if isinstance(value, int | Decimal) else value
            else:
                self.told[name] = value
        self.told["includes"] = frozenset(cleaned["includes"]) if cleaned["includes_asked"] else USUALLY_INCLUDED
        self.asked = asked_next(self.told)
        if self.asked and self.asked.why:
            self.fields[self.asked.field].question = Question(self.asked.why)  # type: ignore[attr-defined]
        return cleaned
