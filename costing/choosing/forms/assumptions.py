"""A member's own assumptions: what could happen, how far figures may go, and what keeping the car costs."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from django import forms
from django.forms import BoundField

from config import quantities
from config.fields import NumberField, PoundsField, unmarked, with_unit
from costing.choosing.core.case import Uncertain
from costing.choosing.core.inputs import INPUTS
from costing.choosing.document.checks import DocumentFault, Unreadable
from costing.choosing.document.reading import read_document
from costing.choosing.services.keep_or_replace import OwnAssumptions
from costing.core.money import to_pence, to_places

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


class RangesForm(forms.Form):
    """The least, likeliest and most of each uncertain input; an input that is left empty counts as known.

    ``cleaned_data["uncertain"]`` has the rows of the offers document.
    """

    def __init__(
        self, data: Any = None, *, ranges: Sequence[tuple[str, Uncertain, bool]], document: Mapping[str, Any]
    ) -> None:
        """``ranges`` has words for each input, its figures, and whether to fill them in.

        ``document`` is the rest of the offers document, with which the ranges must make sense.
        """
        super().__init__(data, label_suffix="")
        self.ranges, self.document = ranges, document
        self._filled_in: list[int] = []
        for index, (_, one, is_filled_in) in enumerate(ranges):
            for bound, label in BOUNDS.items():
                field = _field_of(one.input, label)
                unmarked(field)
                field.initial = _shown(one.input, getattr(one, bound)) if is_filled_in else None
                self.fields[f"{bound}_{index}"] = field

    def rows(self) -> Iterator[tuple[str, str, list[BoundField]]]:
        """The words of each input, its unit, and its three fields."""
        for index, (words, one, _) in enumerate(self.ranges):
            yield words, INPUTS[one.input].unit, [self[f"{bound}_{index}"] for bound in BOUNDS]

    def clean(self) -> dict[str, Any]:
        """Check that each input has three figures in order, or none."""
        uncertain: list[dict[str, Any]] = []
        for index, (_, one, _) in enumerate(self.ranges):
            names = {bound: f"{bound}_{index}" for bound in BOUNDS}
            if any(name in self.errors for name in names.values()):
                continue
            values = {bound: self.cleaned_data[name] for bound, name in names.items()}
            if all(value is None for value in values.values()):
                continue
            if self._is_in_order(names, values):
                self._filled_in.append(index)
                uncertain.append({"input": one.input, **values, **({"offer": one.offer} if one.offer else {})})
        self.cleaned_data["uncertain"] = uncertain
        if not self.errors:
            self._check_with_the_rest(uncertain)
        return self.cleaned_data

    def _check_with_the_rest(self, uncertain: list[dict[str, Any]]) -> None:
        """Refuse ranges that make no sense with the rest of the document."""
        try:
            read_document({**self.document, "uncertain": uncertain})
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
                self.add_error(names[bound], "Fill in all three figures, or none.")
                return False
        if not values["low"] <= values["likely"] <= values["high"]:
            self.add_error(names["likely"], "The likely figure must lie between the other two.")
            return False
        return True


def _field_of(name: str, label: str) -> NumberField:
    kind = INPUTS[name]
    quantity = {
        "months": quantities.MONTHS,
        "weeks": quantities.WEEKS,
        "miles": quantities.FIGURE.within(least=1, places=0, example="24,000"),
        "pence": quantities.FIGURE.within(example="13.5"),
        "pounds": quantities.FIGURE,
    }[kind.unit]
    return NumberField(quantity, label=label, required=False)


def _shown(name: str, value: Fraction) -> str:
    unit = INPUTS[name].unit
    if unit == "pounds":
        return f"{to_places(value / 100, 2)}"
    return f"{to_places(value, 2 if unit == 'pence' else 0)}"


class KeepOrReplaceForm(forms.Form):
    """What keeping the car costs. Whatever is left empty comes from the member's records."""

    repairs = PoundsField(label="Repairs in the coming year", required=False, example="480.00")
    rise = with_unit(NumberField(quantities.YEARLY_RISE, label="Rise in each later year", required=False), "%")
    loss = with_unit(NumberField(quantities.KEPT_LOSS, label="Value lost each year", required=False), "%")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")

    def assumptions(self) -> OwnAssumptions:
        """What was typed in, as far as it is readable."""
        data = getattr(self, "cleaned_data", {})
        repairs, rise, loss = (data.get(name) for name in ("repairs", "rise", "loss"))
        return OwnAssumptions(
            None if repairs is None else to_pence(repairs),
            None if rise is None else Fraction(rise) / 100,
            None if loss is None else Fraction(loss) / 100,
        )
