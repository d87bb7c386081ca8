"""What was taken for lessons in one week: one number, and if one likes what was cancelled."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.asking import AskingForm
from config.fields import HoursField, NumberField, PoundsField, RefField, with_lately
from config.showing import hours_taught
from costing.core.money import to_pence
from costing.core.week import monday_of
from costing.forms.teaching import hours_as_typed
from costing.models import Takings
from costing.planning.core import plausible
from costing.planning.core.left import sunday_of
from costing.wording.doubts import TAKINGS_DOUBTS
from fleet.core.plausible.doubt import Change, Doubt, Limits, Meaning

#: What is told of a week.
TOLD = ("amount", "cancelled_count", "cancelled_minutes")


class TakingsForm(AskingForm):
    """The takings of one week. ``cleaned_data`` has the arguments of `record_takings`, or the changes if it corrects.

    ``limits`` are what other weeks allow, for a Monday.
    """

    doubt_words = TAKINGS_DOUBTS

    ref = RefField()
    from_on = forms.DateField(widget=forms.HiddenInput, error_messages={"invalid": "Choose a week."})
    amount = PoundsField(
        quantities.BILL_POUNDS,
        label="Taken",
        example="840",
        error_messages={"required": "Say what came in: 0 if nothing did."},
    )
    cancelled_count = NumberField(quantities.CANCELLED, label="Lessons cancelled", required=False)
    cancelled_minutes = HoursField(quantities.HOURS_OF_A_WEEK, label="Hours cancelled", required=False)
    #: Which takings it takes the place of, if they are those of the week.
    instead = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Any = None,
        *,
        limits: Limits,
        today: date,
        monday: date,
        takings: Takings | None = None,
        told: Takings | None = None,
    ) -> None:
        """``takings`` are to be corrected; ``told`` are those of the week of a form that was to record them anew."""
        self.limits, self.today, self.takings, self.told = limits, today, takings, told
        initial = _initial_of(takings) if takings else {"from_on": monday}
        super().__init__(data, initial=initial, label_suffix="")
        if takings:
            del self.fields["ref"], self.fields["from_on"], self.fields["instead"]
        self.fields["amount"].widget.attrs |= {"autofocus": True, "enterkeyhint": "done"}
        if minutes := limits["minutes"]:
            with_lately(self.fields["amount"], f"for {hours_taught(minutes)} taught")

    def clean_from_on(self) -> date:
        """Refuse any day but a Monday, and a week that has not ended."""
        monday: date = self.cleaned_data["from_on"]
        # The day is compared first: the last Monday there is has no Sunday.
        if not quantities.DAY.least <= monday <= self.today or monday != monday_of(monday):
            raise forms.ValidationError("Choose a week that has ended.", code="week")
        if sunday_of(monday) > self.today:
            raise forms.ValidationError("Choose a week that has ended.", code="week")
        return monday

    def answered_before(self) -> Iterable[str]:
        """What the week said before it is corrected is not asked about again."""
        return [] if self.takings is None else [doubt.key for doubt in self._doubts_of(_as_told(self.takings))]

    def doubts(self) -> Iterable[Doubt]:
        """Return whether the week is in the book already, else what can hardly be right by the member's own weeks."""
        if self.told and self.cleaned_data["instead"] != self.told.pk:
            return [self._is_told(self.told, to_pence(self.cleaned_data["amount"]))]
        return self._doubts_of(self.cleaned_data)

    @staticmethod
    def _is_told(told: Takings, amount: int) -> Doubt:
        instead = Meaning((Change("instead", str(told.pk)),), "instead")
        figures = {"there": to_pence(told.amount), "amount": amount}
        return Doubt("amount", "week_told", figures, (), (instead,), may_be_right=False)

    def _doubts_of(self, told: dict[str, Any]) -> list[Doubt]:
        typed = {name: told[name] for name in TOLD} | {"amount": to_pence(told["amount"])}
        return plausible.doubts(typed, self.limits)


def _as_told(takings: Takings) -> dict[str, Any]:
    return {name: getattr(takings, name) for name in TOLD}


def _initial_of(takings: Takings) -> dict[str, Any]:
    minutes = takings.cancelled_minutes
    return _as_told(takings) | {"cancelled_minutes": None if minutes is None else hours_as_typed(minutes)}
