"""What the pages about due items ask for, cleaned to what the actions take."""

from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import AnswerField, DayField, MilesField, NumberField, put_today
from fleet.core.kinds import KINDS, Kind
from fleet.queries import TUITION_COVER

#: What the last good day is called on the paper that names it.
LAST_DAY = {
    "mot": "Last day of the MOT certificate",
    "vehicle_tax": "Taxed until",
    "insurance": "Insured until",
    "breakdown_cover": "Covered until",
    "adi_registration": "Registered until",
    "pdi_licence": "Licence runs until",
    "driving_licence": "Photocard runs until",
}
_LAST_DAY_HINT = {
    "mot": "For a car that has had no MOT yet: the day by which it needs its first.",
    "vehicle_tax": "The last day that is taxed.",
    "insurance": "The last day of a policy that covers driving tuition.",
    "adi_registration": "The last day on the certificate.",
    "pdi_licence": "The last day on the licence: six months from its first, less a day (from memory).",
    "driving_licence": "The day at 4b on the card.",
}
#: Kinds whose paper names the next day: all they need is that day.
_BY_PAPER = frozenset(name for name, kind in KINDS.items() if kind.is_cover) | {"mot"}
#: Kinds that wear with the miles run.
_BY_MILES = frozenset({"service", "tyres", "other"})

TUITION_QUESTION = "Does this policy cover driving tuition?"
TUITION_HINT = "With a no, the car is off the road until another policy does."
NOTE = forms.Textarea(attrs={"rows": 2})


class DueItemForm(forms.Form):
    """When something of one kind falls due, and how it comes back: no more than the kind needs."""

    due_on = DayField(label="Due on", may_be_ahead=True)
    due_miles = MilesField(quantities.SOME_MILES, label="Due at", required=False)
    every_months = NumberField(quantities.MONTHS_APART, label="Comes back every", required=False)
    every_miles = MilesField(quantities.SOME_MILES, label="Or after", required=False)
    tuition = AnswerField(label=TUITION_QUESTION, help_text=TUITION_HINT)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=NOTE)

    def __init__(self, data: Any = None, *, kind: Kind, of_car: bool, today: date, initial: Any = None) -> None:
        super().__init__(data, initial=initial, label_suffix="")
        self.kind = kind
        for name in self._not_asked_for(of_car):
            del self.fields[name]
        due_on, note = self.fields["due_on"], self.fields["note"]
        due_on.label = LAST_DAY.get(kind.name, "Due on")
        due_on.help_text = _LAST_DAY_HINT.get(kind.name, "")
        if "due_miles" in self.fields:
            due_on.required = False
            due_on.help_text = "A day, a mileage, or both: then whichever comes first."
        if kind.name == "other":
            note.label, note.required = "What it is", True
            note.help_text = "It is listed and reminded of in these words."
        put_today(self.fields, today)

    def _not_asked_for(self, of_car: bool) -> tuple[str, ...]:
        if self.kind.name == "insurance":
            return ("due_miles", "every_months", "every_miles")
        if self.kind.name in _BY_PAPER:
            return ("due_miles", "every_months", "every_miles", "tuition")
        if not of_car or self.kind.name not in _BY_MILES:
            return ("due_miles", "every_miles", "tuition")
        return ("tuition",)

    def clean(self) -> dict[str, Any]:
        """A day or a mileage at the least; what was not asked for is empty."""
        data = self.cleaned_data
        asked = {"due_on", "due_miles"} & set(self.fields)
        if not asked & set(self.errors) and not any(data.get(name) for name in asked):
            self.add_error("due_on", "Give a day, a mileage, or both.")
        terms = {name: data.get(name) for name in self.base_fields if name != "tuition"}
        return terms | {"note": data.get("note") or "", "answers": self._answers(data)}

    def _answers(self, data: dict[str, Any]) -> dict[str, bool | None]:
        """What was answered anew: an answer left as it stood was given on the day that it says."""
        return {TUITION_COVER: data.get("tuition")} if "tuition" in self.changed_data else {}


class BookingForm(forms.Form):
    """The day for which something is booked."""

    booked_for = DayField(label="Booked for", may_be_ahead=True)

    def __init__(self, data: Any = None, *, booked_for: date | None, today: date) -> None:
        super().__init__(data, initial={"booked_for": booked_for}, label_suffix="")
        self.fields["booked_for"].widget.attrs["min"] = today.isoformat()
