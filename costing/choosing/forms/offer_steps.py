"""The steps in which an offer is entered, and the field for each term."""

from collections.abc import Callable
from typing import Any, NamedTuple

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField, unmarked
from costing.choosing.forms.comparisons import number, pounds
from costing.core.catalogue.agreements import AGREEMENT_KINDS, ENDS, StepName
from costing.core.catalogue.running import FUEL, RUNNING_PARTS

_ALL_BUT_FUEL = "all_but_fuel"
_EXITS = [
    ("", "Nothing, or I don’t know"),
    ("weeks", "Some weeks’ rent"),
    ("share_of_remaining", "A share of the payments left, in %"),
]


class IncludesField(forms.MultipleChoiceField):
    """The running costs that the payments cover. ``at_once`` adds one choice for all of them except fuel."""

    def __init__(self, *, at_once: bool) -> None:
        all_but_fuel = [(_ALL_BUT_FUEL, "All of these except fuel")] if at_once else []
        super().__init__(
            label="Included in the payments",
            choices=[*all_but_fuel, *((part.name, part.as_included) for part in RUNNING_PARTS.values())],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean(self, value: Any) -> list[str]:
        """The names that the document has for them, in the order of the page."""
        chosen = super().clean(value)
        is_all = _ALL_BUT_FUEL in chosen
        return [name for name, part in RUNNING_PARTS.items() if name in chosen or (is_all and part is not FUEL)]


def first_registered() -> DayField:
    """A field for the day on which the car was first registered."""
    return unmarked(
        DayField(
            label="First registered",
            required=False,
            help_text="This decides when the first MOT is due. Leave it empty if the car is old enough to need one.",
        )
    )


#: A field for each term, by its key in the document; an early exit takes two.
_MAKERS: dict[str, Callable[[], forms.Field]] = {
    "first_registered": first_registered,
    "price": lambda: pounds("Cash price", "What you would pay today without credit.", example="11,800"),
    "deposit": lambda: pounds("Deposit", "Paid at the start, with any part exchange.", example="1,200"),
    "payment": lambda: pounds("Each payment", "One instalment or rental, with VAT.", example="189"),
    "payments": lambda: number(quantities.OFFER_PAYMENTS, "Number of payments", "Not counting the final payment."),
    "frequency": lambda: forms.ChoiceField(
        label="How often you pay",
        choices=[("month", "Every month"), ("week", "Every week")],
        widget=forms.RadioSelect,
    ),
    "final_payment": lambda: pounds(
        "Final payment", "The large sum at the end, or an option-to-purchase fee.", example="5,400"
    ),
    "fees": lambda: pounds("Fees", "Arrangement and similar fees, paid with the first payment.", example="150"),
    "quoted_apr": lambda: number(
        quantities.APR, "APR quoted, in %", "We work it out too, from the payments.", unit="%"
    ),
    "value_at_horizon": lambda: pounds("What the car should fetch", example="6,900"),
    "at_end": lambda: forms.ChoiceField(
        label="What will you do when it ends?",
        choices=list(ENDS.items()),
        widget=forms.RadioSelect,
        help_text="This counts if it ends within the time compared.",
    ),
    "mileage_allowance": lambda: MilesField(
        quantities.MILES_A_YEAR,
        label="Miles allowed a year",
        required=False,
        help_text="Leave it empty if there is no limit.",
    ),
    "excess_pence_per_mile": lambda: number(
        quantities.EXCESS_PENCE, "Pence for each extra mile", "As in the agreement.", example="9", unit="p"
    ),
    "damage": lambda: pounds(
        "Damage when it goes back", "What scuffs and chips may cost. Your own guess will do.", example="350"
    ),
    "early_exit_kind": lambda: forms.ChoiceField(
        label="What does it cost to leave early?", choices=_EXITS, required=False, widget=forms.RadioSelect
    ),
    "early_exit_value": lambda: number(
        quantities.WEEKS.within(places=2),
        "How many weeks, or what per cent",
        "8 for eight weeks’ rent, or 50 for half of the payments left.",
        example="8",
    ),
    "pauses_when_off": lambda: forms.BooleanField(label="I don’t pay while I am off sick", required=False),
    "includes": lambda: IncludesField(at_once=False),
}
#: The fields that differ for hire.
_HIRE_MAKERS: dict[str, Callable[[], forms.Field]] = {
    "deposit": lambda: pounds("Initial rental", "Paid at the start, on top of the payments below.", example="450"),
    "payments": lambda: number(
        quantities.OFFER_PAYMENTS, "Number of payments", "Over the term that you would sign for.", example="104"
    ),
    "includes": lambda: IncludesField(at_once=True),
}


class Step(NamedTuple):
    """One page of an offer: its name in the address, and its heading. What it asks depends on the kind."""

    name: StepName
    title: str

    def asks(self, kind: str) -> tuple[str, ...]:
        """The names of its fields for an offer of this kind; an early exit takes two."""
        terms = AGREEMENT_KINDS[kind].asks(self.name)
        return tuple(field for term in terms for field in _FIELDS_OF.get(term, (term,)))


_FIELDS_OF = {"early_exit": ("early_exit_kind", "early_exit_value")}
STEPS = (
    Step("car", "The offer"),
    Step("money", "The money"),
    Step("end", "Miles, and how it ends"),
    Step("included", "What’s included"),
)


def fields_of(step: Step, kind: str) -> dict[str, forms.Field]:
    """The fields of a step for an offer of this kind, by name."""
    return {name: _field(name, kind) for name in step.asks(kind)}


def _field(name: str, kind: str) -> forms.Field:
    way = AGREEMENT_KINDS[kind]
    makers = _MAKERS | _HIRE_MAKERS if way.is_hire else _MAKERS
    field = makers[name]()
    if name in way.needs and isinstance(field, NumberField):
        field.required = True
        field.narrow(least=1)
        field.error_messages["required"] = "Fill this in: without it the offer can’t be compared."
    return field
