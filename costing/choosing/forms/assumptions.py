"""What a member assumes: what could happen, and how far figures may go."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from config import quantities
from config.fields import NumberField, unmarked
from costing.choosing.core.case import Spread
from costing.choosing.core.inputs import Place
from costing.choosing.document.checks import DocumentFault, Unreadable, checked
from costing.choosing.document.schema import UNCERTAIN_INPUTS, Tables
from costing.choosing.forms.fields import FigureField

#: The document's own keys, low to high.
BOUNDS = {"low": "At least", "likely": "Most likely", "high": "At most"}


class WhatIfForm(forms.Form):
    """What a reader may ask the page for: a month to leave in, weeks without lessons, the end of a trainee licence.

    What is left empty is as the page has it anyway.
    """

    leave = unmarked(NumberField(quantities.MONTHS, label="Leave in month", required=False, example="9"))
    weeks = unmarked(NumberField(quantities.SOME_WEEKS, label="Weeks without lessons", required=False, example="6"))
    from_week = unmarked(NumberField(quantities.SOME_WEEKS, label="Starting in week", required=False))
    licence = unmarked(NumberField(quantities.MONTHS, label="Trainee licence ends in month", required=False))

    def __init__(self, data: Any = None, *, months: int, with_licence: bool) -> None:
        super().__init__(data, label_suffix="")
        self.months = months
        if not with_licence:
            del self.fields["licence"]

    def clean(self) -> dict[str, Any]:
        """Check that it happens within the months compared."""
        data, weeks = self.cleaned_data, self.months * 52 // 12
        for name in ("leave", "licence"):
            if (data.get(name) or 0) > self.months:
                self.add_error(name, f"The comparison ends after {self.months} months.")
        if (data.get("from_week") or 0) > weeks:
            self.add_error("from_week", f"The comparison ends before that, after {weeks} weeks.")
        return data


class AskedRange(NamedTuple):
    """A figure that may have a range: its words, where it stands, what is planned, and the range it has."""

    words: str
    place: Place
    likely: Fraction
    spread: Spread | None


class RangesForm(forms.Form):
    """The least, likeliest and most of each uncertain figure; one without a least and a most counts as known.

    ``cleaned_data["uncertain"]`` has the typed rows of the offers document.
    """

    def __init__(self, data: Any = None, *, asked: Sequence[AskedRange], tables: Tables) -> None:
        """``tables`` is the whole document, with which the ranges must make sense."""
        super().__init__(data, label_suffix="")
        self.asked, self.tables = asked, tables
        self._filled_in: list[int] = []
        for index, one in enumerate(asked):
            figure = replace(UNCERTAIN_INPUTS[one.place.input], takes_range=False)
            planned = {"likely": one.likely} if one.spread is None else one.spread._asdict()
            for bound, label in BOUNDS.items():
                field = unmarked(FigureField(figure, label=label, required=False))
                field.initial = planned.get(bound)
                self.fields[f"{bound}_{index}"] = field

    def rows(self) -> Iterator[tuple[str, list[BoundField]]]:
        """The words of each figure and its three fields."""
        for index, one in enumerate(self.asked):
            yield one.words, [self[f"{bound}_{index}"] for bound in BOUNDS]

    def clean(self) -> dict[str, Any]:
        """Check that each figure has three in order, or neither a least nor a most."""
        uncertain: list[dict[str, Any]] = []
        for index, one in enumerate(self.asked):
            names = {bound: f"{bound}_{index}" for bound in BOUNDS}
            if any(name in self.errors for name in names.values()):
                continue
            values = {bound: self.cleaned_data[name] for bound, name in names.items()}
            if values["low"] is None and values["high"] is None:
                continue
            if self._is_in_order(names, values):
                self._filled_in.append(index)
                of_offer = {"offer": one.place.offer} if one.place.offer else {}
                uncertain.append({"input": one.place.input, **of_offer, **values})
        self.cleaned_data["uncertain"] = uncertain
        if not self.errors:
            self._check_with_the_rest(uncertain)
        return self.cleaned_data

    def _check_with_the_rest(self, uncertain: list[dict[str, Any]]) -> None:
        """Refuse ranges that make no sense with the rest of the document."""
        try:
            checked({**self.tables, "uncertain": [*uncertain]})
        except Unreadable as unready:
            for fault in unready.faults:
                self._refuse(fault)

    def _refuse(self, fault: DocumentFault) -> None:
        """Show a fault beside its figure, or above the form if it isn't about one."""
        if fault.place[0] == "uncertain" and fault.place[-1] in BOUNDS:
            index = self._filled_in[int(fault.place[1])]
            self.add_error(f"{fault.place[-1]}_{index}", f"This {fault.words}.")
        else:
            self.add_error(None, f"{fault.key.capitalize()}: {fault.words}.")

    def _is_in_order(self, names: dict[str, str], values: dict[str, Any]) -> bool:
        for bound, value in values.items():
            if value is None:
                self.add_error(names[bound], "Fill in all three figures, or leave the least and the most empty.")
                return False
        if not values["low"] <= values["likely"] <= values["high"]:
            self.add_error(names["likely"], "The likely figure must lie between the other two.")
            return False
        return True
