"""The forms about due items, cleaned to what the actions take."""

from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import AnswerField, DayField, MilesField, NumberField, put_today, with_unit
from fleet.core.due_kinds import DueKind, MetBy
from fleet.core.requirements import TUITION_COVER

TUITION_QUESTION = "Does this policy cover driving tuition?"
TUITION_HINT = "By the member who keeps the car: some leave out trainees. If not, no lesson until a policy does."
NOTE = forms.Textarea(attrs={"rows": 2})


class DueItemForm(forms.Form):
    """When something of one kind falls due, and how it comes back: no more than the kind needs."""

    due_on = DayField(label="Due on", may_be_ahead=True)
    due_miles = MilesField(quantities.SOME_MILES, label="Due at", required=False)
    every_months = with_unit(NumberField(quantities.MONTHS_APART, label="Comes back every", required=False), "months")
    every_miles = MilesField(quantities.SOME_MILES, label="Or after", required=False)
    tuition = AnswerField(label=TUITION_QUESTION, help_text=TUITION_HINT)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=NOTE)

    def __init__(self, data: Any = None, *, kind: DueKind, of_car: bool, today: date, initial: Any = None) -> None:
        super().__init__(data, initial=initial, label_suffix="")
        self.kind = kind
        for name in self._not_asked_for(of_car):
            del self.fields[name]
        due_on, note = self.fields["due_on"], self.fields["note"]
        if kind.last_day:
            due_on.label, due_on.help_text = kind.last_day
        if "due_miles" in self.fields:
            due_on.required = False
            due_on.help_text = "A day, a mileage, or both: then whichever comes first."
        if kind.named_by_note:
            note.label, note.required = "What it is", True
            note.help_text = "It appears in lists and reminders in these words."
        put_today(self.fields, today)

    def _not_asked_for(self, of_car: bool) -> set[str]:
        away = set()
        if self.kind.met_by is not MetBy.INTERVAL:
            away.add("every_months")
        if not self.kind.goes_by_miles(of_car=of_car):
            away |= {"due_miles", "every_miles"}
        if not self.kind.confirms_tuition:
            away.add("tuition")
        return away

    def clean(self) -> dict[str, Any]:
        """At least a day or a mileage; what was not asked for is empty."""
        data = self.cleaned_data
        asked = {"due_on", "due_miles"} & set(self.fields)
        if not asked & set(self.errors) and not any(data.get(name) for name in asked):
            self.add_error("due_on", "Give a day, a mileage, or both.")
        terms = {name: data.get(name) for name in self.base_fields if name != "tuition"}
        return terms | {"note": data.get("note") or "", "answers": self._answers(data)}

    def _answers(self, data: dict[str, Any]) -> dict[str, bool | None]:
        """The answer, if it was changed: one left as it was keeps its day."""
        return {TUITION_COVER: data.get("tuition")} if "tuition" in self.changed_data else {}


class BookingForm(forms.Form):
    """The day for which something is booked; empty to remove the booking."""

    booked_for = DayField(label="Booked for", may_be_ahead=True)

    def __init__(self, data: Any = None, *, booked_for: date | None, today: date) -> None:
        # A booked day that has passed is no booking any more.
        to_come = booked_for if booked_for and booked_for >= today else None
        super().__init__(data, initial={"booked_for": to_come}, label_suffix="")
        self.fields["booked_for"].widget.attrs["min"] = today.isoformat()
        self.fields["booked_for"].required = "clear" not in self.data
