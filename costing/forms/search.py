"""The search of a member's own entries, as people ask for it."""

import re
import unicodedata
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict

from config import quantities
from config.fields import DayField, QuantityField, unmarked
from config.showing import day, on_one_line, pounds
from config.showing import month as show_month
from costing.core.catalogue.costs import ENTRY_CHOICES, FUEL
from costing.core.periods import month_of
from costing.queries.search import Search, Sums
from fleet.core.registration import show
from fleet.models import Car

#: Nothing that is searched in is longer.
_LONGEST_WORDS = 120
_ANY = ("", "Any")
KINDS = [("fill", "Fills"), ("cost", "Costs"), ("lessons", "Lessons")]

_PENNY = Decimal("0.01")
_RANGE = re.compile(r"(?:between |from )?(?P<least>[^-–—]*[0-9][^-–—]*?) ?(?:-|–|—| to | and ) ?(?P<most>[^-–—]+)")
#: What is typed before or after one sum: whether it bounds from below, and by how many pence it is off the sum.
_BOUND = (
    (re.compile(r"(?:over|above|more than|>) ?(.+)"), True, _PENNY),
    (re.compile(r"(?:at least|from|>=) ?(.+)"), True, Decimal(0)),
    (re.compile(r"(.+?) ?(?:\+|or more)"), True, Decimal(0)),
    (re.compile(r"(?:under|below|less than|<) ?(.+)"), False, -_PENNY),
    (re.compile(r"(?:at most|up to|<=) ?(.+)"), False, Decimal(0)),
    (re.compile(r"(.+?) ?(?:or less)"), False, Decimal(0)),
)
_SUM = quantities.PAID.within(example="15.90, 10-20 or over 500")


def read_sums(text: str) -> Sums:
    """Read one sum, a range or a bound: "15.90", "10-20", "£10 to £20", "over 500". Raises Wrong."""
    bare = " ".join(text.casefold().split())
    if found := _RANGE.fullmatch(bare):
        return Sums(*sorted(_SUM.read_typed(found[name]) for name in ("least", "most")))
    for pattern, is_least, off in reversed(_BOUND):
        if found := pattern.fullmatch(bare):
            bound = _SUM.read_typed(found[1]) + off
            return Sums(bound, None) if is_least else Sums(None, bound)
    exactly = _SUM.read_typed(bare)
    return Sums(exactly, exactly)


def read_month(text: str) -> date:
    """Read a month as a browser's calendar writes it or as people do: 2026-03, March 2026, 03/2026. Raises Wrong."""
    for pattern in ("%B %Y", "%b %Y", "%m/%Y"):
        try:
            text = f"{datetime.strptime(text, pattern):%Y-%m}"  # noqa: DTZ007 - a month has no time zone
        except ValueError:
            continue
    return quantities.MONTH.read(text)


class SearchForm(forms.Form):
    """What of their own entries a member asks for. The address holds it: ``asked`` is what is in force, by its names.

    ``cars`` are the member's own. A form that is not valid finds nothing: it says what is wrong beside the field.
    """

    q = unmarked(
        forms.CharField(
            label="Words",
            required=False,
            max_length=_LONGEST_WORDS,
            help_text="Supplier, note, category or mark.",
            widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
        )
    )
    sum = unmarked(
        QuantityField(
            read_sums,
            label="Sum",
            required=False,
            max_length=60,
            help_text="15.90, 10-20 or over 500.",
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )
    )
    month = unmarked(
        QuantityField(
            read_month,
            label="Month",
            required=False,
            max_length=20,
            error_messages={"invalid": "Write the month like March 2026."},
            widget=forms.TextInput(attrs={"type": "month"}),
        )
    )
    first = unmarked(DayField(label="From", required=False, may_be_ahead=True))
    last = unmarked(DayField(label="To", required=False, may_be_ahead=True))
    category = unmarked(
        forms.ChoiceField(
            label="Category",
            required=False,
            choices=[_ANY, (FUEL.name, FUEL.words), *ENTRY_CHOICES],
            error_messages={"invalid_choice": "Choose one of the categories."},
        )
    )
    car = unmarked(
        forms.ChoiceField(
            label="Car", required=False, error_messages={"invalid_choice": "Choose one of your own cars."}
        )
    )
    kind = forms.ChoiceField(
        required=False,
        choices=KINDS,
        widget=forms.HiddenInput,
        error_messages={"invalid_choice": "There are fills, costs and lessons: choose one of them."},
    )
    voided = forms.BooleanField(required=False, widget=forms.HiddenInput)
    batch = forms.UUIDField(
        required=False,
        widget=forms.HiddenInput,
        error_messages={"invalid": "This link is not whole: open the entries anew."},
    )

    def __init__(self, data: QueryDict, *, cars: Sequence[Car]) -> None:
        super().__init__(data, label_suffix="")
        self.cars = {car.registration: car for car in cars}
        choices = [(mark, show(mark)) for mark in self.cars]
        self.fields["car"].choices = [_ANY, *choices]  # type: ignore[attr-defined]
        if len(cars) < 2 and not data.get("car"):
            self.fields["car"].widget = forms.HiddenInput()

    @property
    def asked(self) -> dict[str, str]:
        """What the address asks for, by its names in the address."""
        return {name: value for name in self.fields if (value := self.data.get(name, ""))}

    @property
    def narrows(self) -> bool:
        """Whether more is asked for than a kind, and voided ones too."""
        return bool(self.asked.keys() - {"kind", "voided"})

    def clean(self) -> dict[str, Any]:
        """Check that the days are in order, and that month and days are not both given."""
        data = self.cleaned_data
        first, last, month = (data.get(name) for name in ("first", "last", "month"))
        if first and last and last < first:
            self.add_error("last", "The last day is before the first.")
        if month and (first or last):
            self.add_error("month", "Give either a month or days, not both.")
        return data

    @property
    def search(self) -> Search:
        """What a valid form asks for."""
        data = self.cleaned_data
        span = month_of(data["month"]) if data["month"] else (data["first"], data["last"])
        return Search(
            words=tuple(unicodedata.normalize("NFC", data["q"]).split()),
            category=data["category"],
            sums=data["sum"],
            first=span[0],
            last=span[1],
            car=self.cars.get(data["car"]),
            kind=data["kind"],
            batch=data["batch"],
            voided_too=data["voided"],
        )

    @property
    def in_words(self) -> list[str]:
        """What a valid form narrows the list to."""
        data = self.cleaned_data
        words = [f"“{on_one_line(data['q'], longest=_LONGEST_WORDS)}”"] if data["q"] else []
        words += [_sums_in_words(data["sum"])] if data["sum"] else []
        words += [show_month(data["month"])] if data["month"] else []
        words += [_days_in_words(data["first"], data["last"])] if data["first"] or data["last"] else []
        words += [dict([(FUEL.name, FUEL.words), *ENTRY_CHOICES])[data["category"]]] if data["category"] else []
        return words + ([show(data["car"])] if data["car"] else [])


def _sums_in_words(sums: Sums) -> str:
    least, most = sums
    if least is None or most is None:
        return f"at least {pounds(least)}" if least is not None else f"at most {pounds(most or Decimal(0))}"
    return pounds(least) if least == most else f"{pounds(least)} to {pounds(most)}"


def _days_in_words(first: date | None, last: date | None) -> str:
    if first is None or last is None:
        return f"from {day(first)}" if first else f"until {day(last)}" if last else ""
    return day(first) if first == last else f"{day(first)} to {day(last)}"
