"""A cost paid or refunded, and the days or miles it covers."""

from collections.abc import Mapping
from datetime import date
from typing import Any, cast

from django import forms
from django.forms.boundfield import BoundWidget
from django.http import QueryDict

from config import quantities
from config.fields import AnswerField, DayField, MilesField, PoundsField, with_lately
from config.receipts_field import ReceiptsField
from config.showing import day, whole
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CHOICES
from costing.core.cover import proposed_days
from costing.core.plausible import typed
from costing.forms import raw
from costing.forms.entries import EntryForm
from costing.models import CostEntry
from costing.queries import usual_days
from costing.queries.lately import categories_of
from costing.wording.doubts import COST_DOUBTS
from fleet.core.plausible.doubt import Typed
from fleet.core.requirements import TUITION_COVER
from fleet.models import Car
from instructors.queries import cooperative

#: So many categories stand as large keys on a phone; the others are a tap further.
_LARGE_KEYS = 6


class CostForm(EntryForm):
    """One cost, with the days or miles it covers if there are any."""

    kind, model = "cost", CostEntry
    doubt_words = COST_DOUBTS
    cover_fields = ("covers_from", "covers_to", "covers_miles", "covers_nothing")

    category = forms.ChoiceField(
        label="What for",
        choices=ENTRY_CHOICES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    amount = PoundsField(
        quantities.COST_POUNDS,
        label="Paid",
        example="86.40",
        error_messages={"most": "Check the sum: one cost may be £99,999.99 at most."},
    )
    paid_on = DayField(label="Day")
    covers_from = DayField(label="Covers from", required=False, may_be_ahead=True)
    covers_to = DayField(label="Last day covered", required=False, may_be_ahead=True)
    covers_miles = MilesField(quantities.SOME_MILES, label="Lasts about, in miles", required=False)
    covers_nothing = forms.BooleanField(
        label="No days or miles to come: count it all on the day I paid", required=False
    )
    tuition = AnswerField(
        label="Does this policy cover driving tuition?",
        help_text="If you answer no, the car is off the road until another policy covers it.",
        required=False,
    )
    refund = forms.BooleanField(label="This is a refund", required=False)
    ended_on = DayField(label="Cover ended early on", required=False, may_be_ahead=True)
    supplier = forms.CharField(label="Paid to", max_length=120, required=False)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))
    receipt = ReceiptsField(label="Receipt")
    in_place_of = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if self.entry:
            del self.fields["tuition"]  # the answer is about today's policy, and is kept with the car's due item
            del self.fields["in_place_of"]  # asked as it is logged
        self.fields["ended_on"].help_text = "A policy cancelled, or a tyre replaced early. The rest counts on that day."
        if not self.entry:
            self.put_keys("amount")
            del self.fields["amount"].widget.attrs["autofocus"]  # first comes what it is for

    def put_hints(self) -> None:
        """Offer the categories in the order in which this member uses them."""
        cast(forms.ChoiceField, self.fields["category"]).choices = categories_of(self.by, self.today)

    @property
    def common(self) -> list[BoundWidget]:
        """The categories that have a large key."""
        return list(self["category"])[:_LARGE_KEYS]

    @property
    def rarer(self) -> list[BoundWidget]:
        """The categories that are folded away."""
        return list(self["category"])[_LARGE_KEYS:]

    @property
    def is_rarer(self) -> bool:
        """Whether one of these is chosen."""
        return any(option.data["selected"] for option in self.rarer)

    @staticmethod
    def new_initial(today: date) -> dict[str, Any]:
        return {"paid_on": today}

    @staticmethod
    def initial_of(entry: CostEntry) -> dict[str, Any]:
        names = (
            "category",
            "paid_on",
            "covers_from",
            "covers_to",
            "covers_miles",
            "ended_on",
            "supplier",
            "note",
        )
        covered = entry.covers_from or entry.covers_miles
        return {name: getattr(entry, name) for name in names} | {
            "amount": abs(entry.amount),
            "refund": entry.amount < 0,
            "covers_nothing": not covered and bool(COST_CATEGORIES[entry.category].covers),
        }

    def _usual_cover(self, category: str, car: Car | None, paid_on: date) -> dict[str, Any]:
        """Return what a cost usually covers, by field: days, or the miles of a set of tyres.

        The fields of days then say where these come from.
        """
        covers = _covers(category)
        if covers == "miles":
            return {"covers_miles": cooperative().tyre_life_miles}
        if covers != "days":
            return {}
        days = usual_days(category, paid_on, self.by, car, cast("CostEntry | None", self.entry))
        if days.first != paid_on:
            with_lately(self.fields["covers_from"], "the day after the old cover")
        if COST_CATEGORIES[category].stays_in_car:
            is_usual = days == proposed_days(COST_CATEGORIES[category], paid_on)
            with_lately(self.fields["covers_to"], "in three years" if is_usual else "the end of the agreement")
        return {"covers_from": days.first, "covers_to": days.last}

    @property
    def cover_asked(self) -> str:
        """What the page asks outright because the category usually covers it: "days", "miles" or nothing ("")."""
        return _covers(self["category"].value() or "")

    @property
    def asks_tuition(self) -> bool:
        """Whether the page asks what the policy covers: for a new insurance cost."""
        chosen = COST_CATEGORIES.get(self["category"].value() or "")
        return "tuition" in self.fields and chosen is not None and chosen.asks_tuition

    @property
    def cover_open(self) -> bool:
        """Whether a field that is usually folded away has a value or an error."""
        return any(self[name].value() or self[name].errors for name in self.cover_fields)

    def typed(self, figures: Mapping[str, Any]) -> Typed:
        return typed.cost(figures)

    def as_sent(self) -> Typed | None:
        data, day = self.cleaned_data, raw.day(self.text_of("paid_on"))
        amount, category = raw.figure(self.text_of("amount"), 2), data.get("category")
        if not amount or not category or day is None:
            return None
        covered = data.get("covers_from") and data.get("covers_to")
        miles = raw.figure(self.text_of("covers_miles"), 0)
        return {
            "category": category,
            "amount": abs(amount),
            "refund": "on" if amount < 0 or self.text_of("refund") else "",
            "paid_on": day,
            "covers_from": data["covers_from"].isoformat() if covered else None,
            "covers_to": data["covers_to"].isoformat() if covered else None,
            "covers_miles": miles and abs(miles),
            "in_place_of": data.get("in_place_of", ""),
        }

    def clean(self) -> dict[str, Any]:
        """Check that the cover makes sense, and give a refund its minus sign."""
        data = self.cleaned_data
        if data.get("amount") == 0:
            self.add_error("amount", "You need not log a cost of nothing.")
        if data.pop("refund", False) and data.get("amount"):
            data["amount"] = -abs(data["amount"])
        self._check_cover()
        data.pop("covers_nothing", None)
        answer = data.pop("tuition", None)
        if self._buys_running_insurance():
            data["answers"] = {TUITION_COVER: answer}
            if not self["tuition"].value():
                self.add_error("tuition", "Choose one.")
        return data

    def _buys_running_insurance(self) -> bool:
        """Whether this is a policy still running or to come: nobody needs to know what an old one covered."""
        data = self.cleaned_data
        if not self.asks_tuition or (data.get("amount") or 0) <= 0:
            return False
        return bool(data.get("covers_to") and data["covers_to"] >= self.today)

    def _check_cover(self) -> None:
        data = self.cleaned_data
        first, last, miles = (data.get(name) for name in ("covers_from", "covers_to", "covers_miles"))
        if data.get("covers_nothing"):
            data["covers_from"] = data["covers_to"] = data["covers_miles"] = None
            first = last = miles = None
        elif not (first or last or miles) and not set(self.errors) & set(self.cover_fields):
            self._ask_for_cover()
        if (first or last) and miles:
            self.add_error("covers_miles", "A cost covers days or miles, not both: leave one of them empty.")
        elif first and not last and "covers_to" not in self.errors:
            self.add_error("covers_to", "Give the last day it covers.")
        elif last and not first and "covers_from" not in self.errors:
            self.add_error("covers_from", "Give the first day it covers.")
        elif first and last and last < first:
            self.add_error("covers_to", "The last day covered is before the first.")
        if data.get("ended_on") and not (first or miles):
            self.add_error("ended_on", "Only a cost that covers days or miles can end early.")

    def _ask_for_cover(self) -> None:
        """Fill in the usual cover and ask the member to check it: without script, nothing has done so yet."""
        data = self.cleaned_data
        if (data.get("amount") or 0) < 0:
            return
        paid_on = data.get("paid_on") or self.today
        usual = self._usual_cover(data.get("category", ""), self.chosen_car, paid_on)
        if not usual:
            return
        sent = QueryDict(mutable=True)
        sent.update(self.data)
        for name, value in usual.items():
            sent[self.add_prefix(name)] = str(value)
        self.data = sent
        if "covers_miles" in usual:
            miles = whole(usual["covers_miles"])
            self.add_error(
                "covers_miles", f"How far will they last? {miles} miles is filled in: check it and save again."
            )
        else:
            words = f"{day(usual['covers_from'])} to {day(usual['covers_to'])} is filled in"
            self.add_error("covers_from", f"Which days does it cover? {words}: check it and save again.")


def _covers(category: str) -> str:
    """Return what a cost of the category usually covers; nothing if there is no such category."""
    return COST_CATEGORIES[category].covers if category in COST_CATEGORIES else ""
