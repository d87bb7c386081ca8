"""The form that makes the car one has an offer: what the member knows better than the records do."""

from typing import Any

from django import forms

from costing.choosing.document.figures import Money
from costing.choosing.document.keys import Key
from costing.choosing.document.schema import key_named
from costing.choosing.forms.fields import FigureField
from costing.choosing.forms.several import fields_of, initial_of, told_in
from costing.choosing.services.keep_or_replace import KeptCar
from costing.choosing.services.own_records import Known
from costing.core.catalogue.running import REPAIRS

_VALUE = key_named("offer", "value_now")
_FETCHES = key_named("offer", "value_at_horizon")
_REPAIRS = key_named("running", REPAIRS.key)
_ENDS = ("_low", "_high")
_TODAY = "What it would fetch today"
_END = "What it may fetch at the end"
_COMING = "Repairs a year from now on"


class KeepForm(forms.Form):
    """What the car is worth, what it may fetch and its repairs; of a car on credit also what settling it takes.

    Once the form is valid, ``given`` has the typed values by key. All but the value may be left out.
    """

    def __init__(self, data: Any = None, *, kept: KeptCar) -> None:
        super().__init__(data, label_suffix="")
        self.keys = [_REPAIRS] if kept.is_hired else [_VALUE, _FETCHES, _REPAIRS]
        if not kept.is_hired:
            self._ask(_VALUE, kept.value, "The book has no value for it.", label=_TODAY, required=True)
            if kept.owed:
                self.fields["settlement"] = FigureField(
                    Money(),
                    label="What settling it takes today",
                    help_text="Ask the lender for this figure in writing.",
                    example="3,450",
                    required=False,
                )
            self._ask(_FETCHES, kept.fetches, "Left empty, it is not told.", label=_END, with_range=True)
        repairs = "Left empty, the running costs for all offers count, if they tell it."
        self._ask(_REPAIRS, kept.running.get(_REPAIRS.name), repairs, label=_COMING, with_range=True)

    def _ask(self, key: Key, known: Known | None, unknown: str, **options: Any) -> None:
        hint = f"Put in: {known.source}." if known else unknown
        self.fields.update(fields_of(key, **{"required": False, "help_text": hint, **options}))
        if known is not None:
            self.initial.update(initial_of(key, known.value))

    @property
    def rows(self) -> list[forms.BoundField]:
        """The fields in order, without those of ranges."""
        return [field for field in self if not field.name.endswith(_ENDS)]

    @property
    def ranges(self) -> list[forms.BoundField]:
        """The fields for the least and the most that a figure may come to."""
        return [field for field in self if field.name.endswith(_ENDS)]

    @property
    def has_range(self) -> bool:
        """Whether a range is told or has an error."""
        return any(field.value() or field.errors for field in self.ranges)

    @property
    def settlement(self) -> int | None:
        """What settling it takes, in pence; None if it isn't told."""
        return self.cleaned_data.get("settlement")

    def clean(self) -> dict[str, Any]:
        """Put the values together."""
        self.given = told_in(self, self.keys)
        return self.cleaned_data
