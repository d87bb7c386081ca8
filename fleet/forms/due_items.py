"""What the pages about due items ask for, cleaned to what the actions take."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.fields import DayField, MilesField, put_today
from config.showing import day
from fleet.core.kinds import KINDS, Kind
from fleet.models import DueItem

#: What the last good day is called on the paper that names it.
_LAST_DAY = {
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
    "driving_licence": "The day at 4b on the card.",
}
_DAY_DONE = {
    "mot": "Day of the test",
    "service": "Day of the service",
    "dual_controls": "Day of the inspection",
}
#: Kinds whose paper names the next day: all they need is that day.
_BY_PAPER = frozenset(name for name, kind in KINDS.items() if kind.is_cover) | {"mot"}
#: Kinds that wear with the miles run.
_BY_MILES = frozenset({"service", "tyres", "other"})

_NOTE = forms.Textarea(attrs={"rows": 2})


class DueItemForm(forms.Form):
    """When something of one kind falls due, and how it comes back: no more than the kind needs."""

    due_on = DayField(label="Due on", may_be_ahead=True)
    due_miles = MilesField(label="Due at", required=False, least=1)
    every_months = forms.IntegerField(label="Comes back every", required=False, min_value=1, max_value=240)
    every_miles = MilesField(label="Or after", required=False, least=1, most=200_000)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=_NOTE)

    def __init__(self, data: Any = None, *, kind: Kind, of_car: bool, today: date, initial: Any = None) -> None:
        super().__init__(data, initial=initial, label_suffix="")
        self.kind = kind
        for name in self._not_asked_for(of_car):
            del self.fields[name]
        due_on, note = self.fields["due_on"], self.fields["note"]
        due_on.label = _LAST_DAY.get(kind.name, "Due on")
        due_on.help_text = _LAST_DAY_HINT.get(kind.name, "")
        if "due_miles" in self.fields:
            due_on.required = False
            due_on.help_text = "A day, a mileage, or both: then whichever comes first."
        if kind.name == "other":
            note.label, note.required = "What it is", True
            note.help_text = "It is listed and reminded of in these words."
        put_today(self.fields, today)

    def _not_asked_for(self, of_car: bool) -> tuple[str, ...]:
        if self.kind.name in _BY_PAPER:
            return ("due_miles", "every_months", "every_miles")
        if not of_car or self.kind.name not in _BY_MILES:
            return ("due_miles", "every_miles")
        return ()

    def clean(self) -> dict[str, Any]:
        """A day or a mileage at the least; what was not asked for is empty."""
        data = self.cleaned_data
        asked = {"due_on", "due_miles"} & set(self.fields)
        if not asked & set(self.errors) and not any(data.get(name) for name in asked):
            self.add_error("due_on", "Give a day, a mileage, or both.")
        return {name: data.get(name) for name in self.base_fields} | {"note": data.get("note") or ""}


class CompletionForm(forms.Form):
    """That a due item was met. The next day is the rule's proposal until the paper says otherwise."""

    done_on = DayField(label="Day done")
    odometer = MilesField(label="Odometer then")
    next_due_on = DayField(label="Next due on", may_be_ahead=True, required=False, show_hidden_initial=True)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=_NOTE)

    def __init__(self, data: Any = None, *, item: DueItem, today: date, proposed: date | None) -> None:
        super().__init__(data, initial={"done_on": today, "next_due_on": proposed}, label_suffix="")
        kind = KINDS[item.kind]
        done_on, next_due_on = self.fields["done_on"], self.fields["next_due_on"]
        done_on.label = "Day it was renewed" if kind.is_cover else _DAY_DONE.get(kind.name, "Day done")
        next_due_on.label = _LAST_DAY.get(kind.name, "Next due on")
        next_due_on.required = kind.is_cover
        # With a proposal in it, it looks anything but optional; emptied, the rule fills it in again.
        next_due_on.quietly_optional = proposed is not None  # type: ignore[attr-defined]  # for _field.html
        next_due_on.help_text = self._next_day_hint(item, proposed)
        if item.every_miles:
            self.fields["odometer"].help_text = f"The next one is due {item.every_miles:,} miles after it."
        elif kind.name == "service":
            self.fields["odometer"].required = False
        else:
            del self.fields["odometer"]
        put_today(self.fields, today)

    @staticmethod
    def _next_day_hint(item: DueItem, proposed: date | None) -> str:
        if KINDS[item.kind].is_cover:
            until = f"Until now: {day(item.due_on)}. " if item.due_on else ""
            return f"{until}Take the new day from the paper."
        if item.kind == "mot":
            return (
                "Compare it with the certificate. The rule gives this day for a pass today; left as it is, "
                "it follows the day of the test."
            )
        if proposed:
            return "This is what the rule gives if it was done today; left as it is, it follows the day done."
        if item.every_miles:
            return "Only if it also falls due by a day."
        return "Leave this empty if it does not come back."

    def clean(self) -> dict[str, Any]:
        """A proposal left as it was is no statement: the rule then counts from the day done."""
        data = self.cleaned_data
        if data.get("next_due_on") and "next_due_on" not in self.changed_data:
            data["next_due_on"] = None
        return {"odometer": None} | data


class BookingForm(forms.Form):
    """The day for which something is booked."""

    booked_for = DayField(label="Booked for", may_be_ahead=True)

    def __init__(self, data: Any = None, *, booked_for: date | None, today: date) -> None:
        super().__init__(data, initial={"booked_for": booked_for}, label_suffix="")
        self.today = today
        self.fields["booked_for"].widget.attrs["min"] = today.isoformat()

    def clean_booked_for(self) -> date:
        chosen: date = self.cleaned_data["booked_for"]
        if chosen < self.today:
            raise ValidationError(f"{day(chosen)} has passed: record it as done, or book another day.")
        return chosen
