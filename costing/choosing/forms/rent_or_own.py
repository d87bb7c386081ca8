"""The slip of “Rent or your own?”: nine figures, and further ones that narrow the answer."""

from collections.abc import Iterable
from typing import Any

from django import forms

from config import quantities
from config.fields import Question, with_lately, with_unit
from config.showing import pence_as_pounds, pounds, whole
from costing.choosing.document.checks import DocumentFault
from costing.choosing.document.combined import PENCE_A_MILE
from costing.choosing.document.figures import Count, Figure, Money
from costing.choosing.document.schema import LISTS, TABLES
from costing.choosing.forms.doubts import doubts_of
from costing.choosing.forms.fields import FigureField, PartsField
from costing.choosing.services.two_quotes import USUALLY_INCLUDED, Asked, Needs, Told, asked_next, is_credit
from costing.core.catalogue.running import AS_PAID, FUEL, MOT, RunningPart, When
from costing.queries import RunningFigures

_FIGURES = {
    key.name: key.shape
    for key in (*TABLES["use"], *TABLES["running"], *LISTS["offer"])
    if isinstance(key.shape, Figure)
}
_UNITS = {
    When.AT_START: "once",
    When.PREMIUMS: "a year",
    When.YEAR_STARTS: "a year",
    When.YEAR_ENDS_WITH_MOT: "each",
    When.MONTHLY: "a year",
    When.BY_SET: "a set",
}
_NEXT = {
    "rent": "the rent a week",
    "price": "the price of your own car, or its payment a month",
    "deposit": "the deposit, 0 if there is none",
    "payment": "the payment a month",
    "payments": "for how many months you pay",
    "final_payment": "the final payment, 0 if there is none",
    "months": "over how many months to compare",
    "miles_per_year": "the miles a year",
}
_WANTED = {
    "private_miles_per_year": "how many of these are private",
    "lesson_hours_per_week": "your lesson hours a week",
    "weeks_taught_per_year": "the weeks you teach in a year",
    "lesson_hour_price": "the price of a lesson hour",
}
_OF_OWN = ("price", "deposit", "payment", "payments", "final_payment", "value_at_horizon")
_FURTHER = {
    "Of the rented car": ("rent_damage", "rent_fuel"),
    "Of your own": ("fees", "own_fuel", "mileage_allowance", "excess_pence_per_mile", "damage"),
    "How you teach, for a file": (
        "private_miles_per_year",
        "lesson_hours_per_week",
        "weeks_taught_per_year",
        "lesson_hour_price",
    ),
}
#: The only usual figure with a source, for Great Britain; we read a copy of the official table.
_MOST_FOR_AN_MOT = "at most £54.85 (GOV.UK)"


def _figure(figure: Figure, label: str, unit: str = "") -> FigureField:
    return with_unit(FigureField(figure, label=label, required=False), unit)


def _of(key: str, label: str, unit: str = "") -> FigureField:
    """The field of a key of the document, under a shorter label."""
    return _figure(_FIGURES[key], label, unit)


def _as_shown(figure: Figure, value: Any) -> str:
    """A figure as a page shows it: £1,900, £218.50, 20,000."""
    if isinstance(figure, Money):
        return pence_as_pounds(value).removesuffix(".00")
    return whole(int(value)) if value == int(value) else figure.show(value)


class RentOrOwnForm(forms.Form):
    """What two quotes say. Every field may stay empty: what is not told is never taken as nothing.

    Once the form is valid, ``told`` has the figures as `two_quotes` takes them, ``asked`` is what to type next, and
    ``wanted`` is what else it takes to keep them.
    """

    rent = _of("payment", "Rent", "a week")
    price = _of("price", "Price")
    deposit = _of("deposit", "Deposit")
    payment = _of("payment", "Payment", "a month")
    # An offer may be paid by the week, and so more often than there are months to compare; here it is by the month.
    payments = _figure(Count(quantity=quantities.MONTHS), "For", "months")
    final_payment = _of("final_payment", "Final payment")
    value_at_horizon = _of("value_at_horizon", "May fetch", "at the end")
    months = _of("months", "Compare", "months")
    miles_per_year = _of("miles_per_year", "Miles", "a year")
    includes = PartsField(at_once=False, label="The rent includes", required=False, initial=sorted(USUALLY_INCLUDED))
    #: Sent with the ticks, because a form with none ticked would otherwise look like one that was not asked.
    includes_asked = forms.CharField(widget=forms.HiddenInput, required=False, initial="1")
    rent_damage = _of("damage", "Damage when the rented car goes back")
    rent_fuel = _figure(PENCE_A_MILE, "Fuel of the rented car", "p a mile")
    own_fuel = _figure(PENCE_A_MILE, "Fuel of your own", "p a mile")
    fees = _of("fees", "Fees of the credit")
    mileage_allowance = _of("mileage_allowance", "Limit of a PCP", "miles a year")
    excess_pence_per_mile = _of("excess_pence_per_mile", "Each mile beyond it", "p")
    damage = _of("damage", "Damage when a PCP car goes back")
    private_miles_per_year = _of("private_miles_per_year", "Private miles of those", "a year")
    lesson_hours_per_week = _of("lesson_hours_per_week", "Lesson hours", "a week")
    weeks_taught_per_year = _of("weeks_taught_per_year", "Weeks you teach", "a year")
    lesson_hour_price = _of("lesson_hour_price", "Price of a lesson hour")

    def __init__(self, data: Any = None, *, group: RunningFigures | None, nation: str = "GB") -> None:
        super().__init__(data, label_suffix="")
        self.told: Told = {}
        self.asked: Asked | None = None
        self.wanted: tuple[Asked, ...] = ()
        self.running_names = [name for part in AS_PAID if part is not FUEL for name in self._add_running(part)]
        if nation == "GB":
            with_lately(self.fields[MOT.key], _MOST_FOR_AN_MOT)
        self.group = group
        medians = group.medians if group else {}
        for name in medians.keys() & set(self.running_names):
            with_lately(self.fields[name], f"your co-op’s median {pounds(medians[name]).removesuffix('.00')}")
        for field in self.fields.values():
            field.template_name = "_field_live.html"  # type: ignore[attr-defined]  # Django has it, its stubs do not yet

    def _add_running(self, part: RunningPart) -> list[str]:
        self.fields[part.key] = _figure(Money(), part.words, _UNITS[part.when])
        if part.life_key:
            self.fields[part.life_key] = _of(part.life_key, "A set lasts", "miles")
        return [part.key, part.life_key] if part.life_key else [part.key]

    def clean(self) -> dict[str, Any]:
        """Find what to type next, and say so beside its field where the reason is not plain."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        is_asked = bool(cleaned.pop("includes_asked"))
        included = cleaned["includes"] or frozenset()
        self.told = cleaned | {"includes": included if is_asked else USUALLY_INCLUDED}
        self.asked = asked_next(self.told)
        for name, why in doubts_of(self.told):
            self._question(name, why)
        if self.asked:
            self._say_why(self.asked)
        return cleaned

    def _question(self, name: str, why: str) -> None:
        """Ask beside a field whether its figure is right. It counts all the same."""
        question = Question(why, is_ticked=f"{name}_is_right" in self.data)
        self.fields[name].question = question  # type: ignore[attr-defined]  # _field_words.html reads it

    def _say_why(self, asked: Asked) -> None:
        """Say beside a field why its figure is needed."""
        field = self.fields[asked.field]
        field.asks = asked.why  # type: ignore[attr-defined]  # _field_words.html reads it
        if asked.why:
            field.question = None  # type: ignore[attr-defined]  # one thing at a time below a row

    def is_ready_for(self, needs: Needs) -> bool:
        """Whether nothing more is needed for an answer, nor for what else ``needs`` figures; if not, ask for them."""
        if not self.is_bound or not self.is_valid() or self.asked:
            return False
        wanted = needs(self.told)
        for asked in wanted:
            self._say_why(asked)
        self.wanted = self.wanted or wanted
        return not wanted

    @property
    def next_words(self) -> str:
        """What to type next, in the middle of a sentence."""
        return self._words_of(self.asked.field) if self.asked else ""

    @property
    def wanted_fields(self) -> list[tuple[str, forms.BoundField]]:
        """What to type before this can be kept, in words and as fields."""
        return [(self._words_of(asked.field), self[asked.field]) for asked in self.wanted]

    @property
    def doubted(self) -> list[forms.BoundField]:
        """The fields whose figures are asked about and nobody has ticked as right."""
        rows = [(self[name], getattr(field, "question", None)) for name, field in self.fields.items()]
        return [row for row, question in rows if question and not question.is_ticked]

    @property
    def wants_further(self) -> bool:
        """Whether any of these stands among the further figures."""
        return not {asked.field for asked in self.wanted} <= _NEXT.keys()

    def _words_of(self, name: str) -> str:
        if name == "price" and is_credit(self.told):
            return "the cash price of your own car"
        return _NEXT.get(name) or _WANTED.get(name) or str(self.fields[name].label).lower()

    def put_faults(self, faults: Iterable[DocumentFault]) -> None:
        """Show what does not go together, each fault beside its field."""
        for fault in faults:
            is_rent, key = fault.place[:2] == ("offer", 1), str(fault.place[-1])
            name = {"payment": "rent", "damage": "rent_damage"}.get(key, key) if is_rent else key
            self.add_error(name if name in self.fields else None, f"This {fault.words}.")

    @property
    def asked_field(self) -> forms.BoundField | None:
        """The field to fill in next."""
        return self[self.asked.field] if self.asked else None

    @property
    def own_fields(self) -> list[forms.BoundField]:
        """What is asked of the car of one's own."""
        return [self[name] for name in _OF_OWN]

    @property
    def further(self) -> list[tuple[str, list[forms.BoundField]]]:
        """Further figures, in slips of their own."""
        slips = {"What either car costs, if the rent leaves it out": self.running_names, **_FURTHER}
        return [(words, [self[name] for name in names]) for words, names in slips.items()]

    @property
    def typed(self) -> list[tuple[str, str]]:
        """Each figure that was typed, with its label and unit."""
        told = {name: field for name, field in self.fields.items() if self.told.get(name) is not None}
        return [
            (str(field.label), f"{_as_shown(field.figure, self.told[name])} {field.unit}")
            for name, field in told.items()
            if isinstance(field, FigureField)
        ]

    def as_typed(self) -> dict[str, str | list[str]]:
        """The figures as one would type them again, to send them on."""
        figures: dict[str, str | list[str]] = {
            name: field.figure.show(self.told[name])
            for name, field in self.fields.items()
            if isinstance(field, FigureField) and self.told[name] is not None
        }
        return figures | {"includes": sorted(self.told["includes"]), "includes_asked": "1"}
