"""The form that makes the car one has an offer: what the member knows better than the records do."""

from typing import Any

from django import forms

from config.showing import pence_as_pounds
from costing.choosing.document.figures import Money
from costing.choosing.document.schema import key_named
from costing.choosing.forms.fields import FigureField
from costing.choosing.forms.several import fields_of, initial_of, told_in
from costing.choosing.services.keep_or_replace import KeptCar, Known
from costing.core.catalogue.running import REPAIRS

_VALUE = key_named("offer", "value_now")
_FETCHES = key_named("offer", "value_at_horizon")
_REPAIRS = key_named("running", REPAIRS.key)


class KeepForm(forms.Form):
    """What the car is worth, what it may fetch, its repairs and, on credit, what settling it would take.

    Once the form is valid, ``given`` has the typed values by key; all of them may be left out but the value.
    """

    def __init__(self, data: Any = None, *, kept: KeptCar) -> None:
        super().__init__(data, label_suffix="")
        self.kept = kept
        self.keys = [_REPAIRS]
        repairs = kept.running.get(_REPAIRS.name)
        if not kept.way.is_hire:
            self.keys = [_VALUE, _FETCHES, _REPAIRS]
            self._ask(_VALUE, kept.value, label="What it would fetch today", required=True)
            if kept.way.is_credit:
                self.fields["settlement"] = FigureField(
                    Money(),
                    label="What settling it would take today",
                    help_text="Ask the lender for the settlement figure, in writing.",
                    example="3,450",
                )
            self._ask(_FETCHES, kept.fetches, label="What it may fetch at the end", with_range=True)
        self._ask(_REPAIRS, repairs, label="Repairs a year from now on", with_range=True)

    def _ask(self, key: Any, known: Known | None, *, with_range: bool = False, **options: Any) -> None:
        hint = f"We put in {known.source}." if known else "The book doesn’t know. Left empty, it is not told."
        self.fields.update(fields_of(key, with_range=with_range, **{"required": False, "help_text": hint, **options}))
        if known is not None:
            self.initial.update(initial_of(key, known.value))

    def clean(self) -> dict[str, Any]:
        """Put the values together, and hold the settlement against the value and the payments left."""
        data = self.cleaned_data
        self.given = told_in(self, self.keys)
        if self.kept.way.is_credit and data.get("settlement") is not None and "value_now" in self.given:
            self.given["settlement"] = data["settlement"]
            self._check_settlement(data["settlement"], self.given["value_now"])
        return data

    def _check_settlement(self, settlement: int, value: int) -> None:
        terms = self.kept.terms
        left = terms["payment"] * terms["payments"] + terms.get("final_payment", 0)
        if not settlement:
            self.add_error("settlement", "If nothing is owed any more, record an agreement as owned outright first.")
        elif settlement > left:
            self.add_error("settlement", f"This is more than the payments still to come, {pence_as_pounds(left)}.")
        elif settlement > value:
            self.add_error(
                "settlement",
                "This is more than the car would fetch, and then keeping it can’t be compared as an offer: "
                "whichever car you take, you pay the difference.",
            )
