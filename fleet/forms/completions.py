"""The forms to record that a due item was done: each asks no more than its kind needs."""

from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import AnswerField, DayField, MilesField, PhotoField, PoundsField, RefField, put_today, unmarked
from config.showing import day
from fleet.actions import Bill
from fleet.core.requirements import TUITION_COVER
from fleet.costs import WorkCost
from fleet.forms.due_items import NOTE, TUITION_HINT, TUITION_QUESTION
from fleet.forms.odometer import OdometerForm
from fleet.models import DueItem


class BillFields(OdometerForm):
    """What it cost, for the car's keeper alone, a photo of its paper, and the odometer then."""

    day_field = "done_on"

    ref = RefField()
    amount = PoundsField(label="What it cost", example="54.85", required=False)
    covers_miles = MilesField(quantities.SOME_MILES, label="Expected to last, in miles", required=False)
    picture = PhotoField(
        label="Photo of the paper", help_text="Only you will see it. The book removes where it was taken."
    )

    def bill(self) -> Bill | None:
        """The bill to log; None if none was given, this member may not give one, or its reference was refused."""
        data = self.cleaned_data
        if not data.get("amount") or "ref" not in data:
            return None
        return Bill(data["ref"], data["amount"], data.get("covers_miles"))


class CompletionForm(BillFields):
    """A due item was done. The next day is what the rule gives, unless the paper says otherwise.

    ``logged`` is its cost if that is already in the book, under ``logged_ref``: it is not asked for again.
    """

    field_order = ("ref", "done_on", "odometer", "next_due_on", "tuition", "amount", "covers_miles", "note", "picture")

    done_on = DayField(label="Day done")
    odometer = MilesField(label="Odometer on that day")
    next_due_on = DayField(label="Next due on", may_be_ahead=True, required=False, show_hidden_initial=True)
    tuition = AnswerField(label=TUITION_QUESTION, help_text=TUITION_HINT)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=NOTE)

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        item: DueItem,
        today: date,
        proposed: date | None,
        asks_cost: bool,
        tyre_life_miles: int | None = None,
        logged: WorkCost | None = None,
        logged_ref: str = "",
    ) -> None:
        done_on = logged.paid_on if logged else today
        start = {"done_on": done_on, "next_due_on": proposed, "covers_miles": tyre_life_miles}
        super().__init__(data, files, initial=start, label_suffix="")
        self.item, self.kind = item, item.due_kind
        self.logged, self.logged_ref = logged, logged_ref
        if proposed is not None:
            # Already filled in, the next day does not look optional; if emptied, the rule applies again.
            unmarked(self.fields["next_due_on"])
        for name in self._not_asked_for(asks_cost):
            del self.fields[name]
        self._word_days(proposed)
        if "odometer" in self.fields:
            self.fields["odometer"].required = bool(item.every_miles)
        if item.every_miles:
            self.fields["odometer"].help_text = f"The next one is due {item.every_miles:,} miles after it."
        if "covers_miles" in self.fields:
            self.fields[
                "covers_miles"
            ].help_text = "The cost is spread over these miles. Leave it empty to count it all on that day."
        put_today(self.fields, today)

    def _not_asked_for(self, asks_cost: bool) -> set[str]:
        item, away = self.item, set()
        if not item.every_miles and not self.kind.asks_odometer:
            away.add("odometer")
        if not self.kind.confirms_tuition:
            away.add("tuition")
        if not self.kind.lasts_miles:
            away.add("covers_miles")
        if not asks_cost or self.logged:
            away |= {"amount", "covers_miles"}
        if item.car is None:
            away.add("picture")
        return away

    def _word_days(self, proposed: date | None) -> None:
        done_on, next_due_on = self.fields["done_on"], self.fields["next_due_on"]
        done_on.label = self.kind.done_day or ("Day it was renewed" if self.kind.is_cover else "Day done")
        next_due_on.label = self.kind.last_day.label if self.kind.last_day else "Next due on"
        next_due_on.required = self.kind.is_cover and proposed is None
        next_due_on.help_text = self.next_day_hint(proposed)

    def next_day_hint(self, proposed: date | None) -> str:
        """What to fill in as the next day, or where the date filled in comes from."""
        if self.kind.is_cover:
            until = f"So far: {day(self.item.due_on)}. " if self.item.due_on else ""
            usual = "The date filled in is how long it usually runs. " if proposed else ""
            return f"{until}{usual}Take the new date from the paper."
        if proposed:
            return "Worked out from the day done, unless you change it."
        if self.item.every_miles:
            return "Only if it also falls due on a day."
        return "Leave this empty if it does not come back."

    def clean(self) -> dict[str, Any]:
        """What ``complete_due_item`` takes. If the date filled in was left unchanged, the rule counts."""
        data = self.cleaned_data
        if data.get("next_due_on") and "next_due_on" not in self.changed_data:
            data["next_due_on"] = None
        bill = Bill(self.logged_ref) if self.logged else self.bill()
        answers = {TUITION_COVER: data["tuition"]} if "tuition" in data else {}
        names = ("done_on", "odometer", "next_due_on", "note", "picture")
        return {name: data.get(name) for name in names} | {"bill": bill, "answers": answers}
