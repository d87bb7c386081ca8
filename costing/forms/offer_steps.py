"""What is asked of an offer: the terms of each kind, explained in a sentence, and the steps they are asked in."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField
from costing.core.records import HIRE_KINDS
from costing.forms.choosing import number, pounds
from costing.models import AgreementKind
from costing.offers.across import NEEDED

#: What each way of getting a car is, for whoever has not met it.
KIND_WORDS = {
    AgreementKind.OWNED: "You pay the whole price at once, and the car is yours to sell.",
    AgreementKind.HIRE_PURCHASE: "You pay a deposit and instalments; after the last one the car is yours.",
    AgreementKind.PCP: "Lower instalments, then a choice: pay a large last sum, sell it, or hand it back.",
    AgreementKind.CONTRACT_HIRE: "You rent one car for a fixed time and so many miles; it never becomes yours.",
    AgreementKind.WEEKLY_RENTAL: "You rent by the week, often with tyres, repairs and insurance in the price.",
}

_INCLUDES = [
    ("insurance", "Insurance for tuition"),
    ("vehicle_tax", "Vehicle tax"),
    ("breakdown", "Breakdown cover"),
    ("mot", "MOT"),
    ("servicing", "Servicing"),
    ("repairs", "Repairs"),
    ("tyres", "Tyres"),
    ("fit_out", "Fit-out: dual controls, plates, mirror"),
    ("fuel", "Fuel or charge"),
]
_ALL_BUT_FUEL = "all_but_fuel"
_EXITS = [
    ("", "Nothing, or I do not know"),
    ("weeks", "Some weeks’ rent"),
    ("share_of_remaining", "A share of the rest, in %"),
]
_AT_END = [
    ("sell", "Sell it: its value then, less the final payment"),
    ("keep", "Keep it: the final payment is paid"),
    ("hand_back", "Hand it back: nothing more to pay but excess miles and damage"),
]


class IncludesField(forms.MultipleChoiceField):
    """The parts that the payments cover already; ``at_once`` offers all but fuel as one choice."""

    def __init__(self, *, at_once: bool) -> None:
        all_but_fuel = [(_ALL_BUT_FUEL, "All of these but fuel")] if at_once else []
        super().__init__(
            label="In the price",
            choices=[*all_but_fuel, *_INCLUDES],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean(self, value: Any) -> list[str]:
        """The parts by their names in the document, in the order of the page."""
        chosen = super().clean(value)
        is_all = _ALL_BUT_FUEL in chosen
        return [part for part, _ in _INCLUDES if part in chosen or (is_all and part != "fuel")]


def first_registered() -> DayField:
    """When the car was first registered."""
    return DayField(
        label="First registered",
        required=False,
        help_text="For when its first MOT falls due. Left empty, it is taken as old enough for one.",
    )


#: Each term with its explanation, by its key of the document; an early exit is two fields here.
_MAKERS: dict[str, Callable[[], forms.Field]] = {
    "first_registered": first_registered,
    "price": lambda: pounds("Cash price", "What it would cost today without credit.", example="11,800"),
    "deposit": lambda: pounds("Deposit", "Paid at the start, part exchange included.", example="1,200"),
    "payment": lambda: pounds("Each payment", "One instalment or rental, VAT included.", example="189"),
    "payments": lambda: number(quantities.OFFER_PAYMENTS, "How many of them", "Without the final payment."),
    "frequency": lambda: forms.ChoiceField(
        label="A payment falls due",
        choices=[("month", "Every month"), ("week", "Every week")],
        widget=forms.RadioSelect,
    ),
    "final_payment": lambda: pounds("Final payment", "The large last sum, or an option fee.", example="5,400"),
    "fees": lambda: pounds("Fees", "Arrangement and the like, paid with the first payment.", example="150"),
    "quoted_apr": lambda: number(quantities.APR, "APR quoted, in %", "To hold beside what the payments make."),
    "value_at_horizon": lambda: pounds("What it should fetch then", example="6,900"),
    "at_end": lambda: forms.ChoiceField(
        label="When it ends, you",
        choices=_AT_END,
        widget=forms.RadioSelect,
        help_text="It counts if that falls within the time compared.",
    ),
    "mileage_allowance": lambda: MilesField(
        quantities.MILES_A_YEAR, label="Miles allowed a year", required=False, help_text="Left empty: no limit."
    ),
    "excess_pence_per_mile": lambda: number(
        quantities.EXCESS_PENCE, "Pence for each mile above", "As the agreement has it.", example="9"
    ),
    "damage": lambda: pounds("Damage at hand-back", "What scuffs and chips may cost. Your guess.", example="350"),
    "early_exit_kind": lambda: forms.ChoiceField(
        label="Leaving before its term ends costs", choices=_EXITS, required=False, widget=forms.RadioSelect
    ),
    "early_exit_value": lambda: number(
        quantities.WEEKS.within(places=2),
        "How many weeks, or how many per cent",
        "8 for eight weeks’ rent, 50 for half of the rest.",
        example="8",
    ),
    "pauses_when_off": lambda: forms.BooleanField(label="Payments stop while I am off sick", required=False),
    "includes": lambda: IncludesField(at_once=False),
}
#: What hire calls otherwise, or asks in another way.
_HIRE_MAKERS: dict[str, Callable[[], forms.Field]] = {
    "deposit": lambda: pounds("Initial rental", "Paid at the start, beside the payments below.", example="450"),
    "payments": lambda: number(
        quantities.OFFER_PAYMENTS, "How many of them", "In the term you would sign for.", example="104"
    ),
    "includes": lambda: IncludesField(at_once=True),
}


class Step(NamedTuple):
    """One page of an offer: its name in the address, its heading, and what it asks each kind."""

    name: str
    title: str
    asks: Mapping[str, tuple[str, ...]]


_CREDIT = ("price", "deposit", "payment", "payments", "frequency", "final_payment", "fees", "quoted_apr")
_HIRE = ("deposit", "payment", "payments", "frequency", "fees")
_MILES = ("mileage_allowance", "excess_pence_per_mile", "damage")
_HIRE_END = (*_MILES, "early_exit_kind", "early_exit_value", "pauses_when_off")
STEPS = (
    Step("car", "What it is", dict.fromkeys(AgreementKind.values, ("first_registered",))),
    Step(
        "money",
        "The money",
        {"owned": ("price",), "hire_purchase": _CREDIT, "pcp": _CREDIT, "contract_hire": _HIRE, "weekly_rental": _HIRE},
    ),
    Step(
        "end",
        "Miles and the end",
        {
            "owned": ("value_at_horizon",),
            "hire_purchase": ("value_at_horizon",),
            "pcp": ("at_end", "value_at_horizon", *_MILES),
            "contract_hire": _HIRE_END,
            "weekly_rental": _HIRE_END,
        },
    ),
    Step("included", "What is included", dict.fromkeys(AgreementKind.values, ("includes",))),
)


def fields_of(step: Step, kind: str) -> dict[str, forms.Field]:
    """The fields a step asks of an offer of this kind, by name."""
    return {name: _field(name, kind) for name in step.asks[kind]}


def _field(name: str, kind: str) -> forms.Field:
    makers = _MAKERS | _HIRE_MAKERS if kind in HIRE_KINDS else _MAKERS
    field = makers[name]()
    if name in NEEDED[kind] and isinstance(field, NumberField):
        field.required = True
        field.narrow(least=1)
        field.error_messages["required"] = "This is needed: without it the offer cannot be compared."
    return field
