"""What is asked of an offer: the steps it is told in, and the field of each term."""

from collections.abc import Callable
from typing import Any, NamedTuple

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField, unmarked
from costing.core.catalogue.agreements import AGREEMENT_KINDS, ENDS, StepName
from costing.core.catalogue.running import FUEL, RUNNING_PARTS
from costing.forms.choosing import number, pounds

_ALL_BUT_FUEL = "all_but_fuel"
_EXITS = [
    ("", "Nothing, or I do not know"),
    ("weeks", "Some weeks’ rent"),
    ("share_of_remaining", "A share of the rest, in %"),
]


class IncludesField(forms.MultipleChoiceField):
    """The parts that the payments cover already; ``at_once`` offers all but fuel as one choice."""

    def __init__(self, *, at_once: bool) -> None:
        all_but_fuel = [(_ALL_BUT_FUEL, "All of these but fuel")] if at_once else []
        super().__init__(
            label="In the price",
            choices=[*all_but_fuel, *((part.name, part.as_included) for part in RUNNING_PARTS.values())],
            required=False,
            widget=forms.CheckboxSelectMultiple,
        )

    def clean(self, value: Any) -> list[str]:
        """The parts by their names in the document, in the order of the page."""
        chosen = super().clean(value)
        is_all = _ALL_BUT_FUEL in chosen
        return [name for name, part in RUNNING_PARTS.items() if name in chosen or (is_all and part is not FUEL)]


def first_registered() -> DayField:
    """When the car was first registered."""
    return unmarked(
        DayField(
            label="First registered",
            required=False,
            help_text="For when its first MOT falls due. Left empty, it is taken as old enough for one.",
        )
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
    "quoted_apr": lambda: number(
        quantities.APR, "APR quoted, in %", "To hold beside what the payments make.", unit="%"
    ),
    "value_at_horizon": lambda: pounds("What it should fetch then", example="6,900"),
    "at_end": lambda: forms.ChoiceField(
        label="When it ends, you",
        choices=list(ENDS.items()),
        widget=forms.RadioSelect,
        help_text="It counts if that falls within the time compared.",
    ),
    "mileage_allowance": lambda: MilesField(
        quantities.MILES_A_YEAR, label="Miles allowed a year", required=False, help_text="Left empty: no limit."
    ),
    "excess_pence_per_mile": lambda: number(
        quantities.EXCESS_PENCE, "Pence for each mile above", "As the agreement has it.", example="9", unit="p"
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
    """One page of an offer: its name in the address, and its heading. What it asks is the kind's to say."""

    name: StepName
    title: str

    def asks(self, kind: str) -> tuple[str, ...]:
        """The fields of an offer of this kind; an early exit is two of them."""
        terms = AGREEMENT_KINDS[kind].asks(self.name)
        return tuple(field for term in terms for field in _FIELDS_OF.get(term, (term,)))


_FIELDS_OF = {"early_exit": ("early_exit_kind", "early_exit_value")}
STEPS = (
    Step("car", "What it is"),
    Step("money", "The money"),
    Step("end", "Miles and the end"),
    Step("included", "What is included"),
)


def fields_of(step: Step, kind: str) -> dict[str, forms.Field]:
    """The fields a step asks of an offer of this kind, by name."""
    return {name: _field(name, kind) for name in step.asks(kind)}


def _field(name: str, kind: str) -> forms.Field:
    way = AGREEMENT_KINDS[kind]
    makers = _MAKERS | _HIRE_MAKERS if way.is_hire else _MAKERS
    field = makers[name]()
    if name in way.needs and isinstance(field, NumberField):
        field.required = True
        field.narrow(least=1)
        field.error_messages["required"] = "This is needed: without it the offer cannot be compared."
    return field
