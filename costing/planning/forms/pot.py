"""What is in the pot and planned, and a bill or a quote."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from config import quantities
from config.asking import AskingForm
from config.fields import DayField, NumberField, PoundsField, RefField, on_one_line, put_today, unmarked, with_unit
from config.showing import day, pounds
from costing.core.catalogue.agreements import AgreementKind
from costing.core.catalogue.bills import BILL_CHOICES, BILL_KINDS, BillKind
from costing.core.money import to_pence
from costing.core.records import Period
from costing.models import PotBill, PotPlan
from costing.models.pot import MOST_WEEKS_ILL
from costing.planning.core import plausible_pot
from costing.planning.core.bills import year_from
from costing.planning.core.pot import weeks_off
from costing.planning.services.limits import bill_limits, plan_limits
from costing.planning.services.pot import holidays_of
from costing.wording.doubts import POT_BILL_DOUBTS, POT_DOUBTS
from fleet.core.days import add_months
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.plausible.doubt import Doubt, Limits
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member

#: So many holidays can be typed; one more than there are is offered, and two at first.
_MOST_HOLIDAYS, _FIRST_HOLIDAYS = 6, 2
_WHOLE_WEEKS = "Whole weeks from today: one with four days of holiday or more counts, so 16 days can be three weeks."
#: What was in the pot longer ago says nothing of today.
_OLDEST_MONTHS = 12
_WEEKS_ILL = quantities.WEEKS.within(most=MOST_WEEKS_ILL)


class PotPlanForm(AskingForm):
    """The pot and the plan. ``cleaned_data`` has the fields of `PotPlan`."""

    doubt_words = POT_DOUBTS

    balance = PoundsField(quantities.BILL_POUNDS, label="In the pot", example="420.00")
    balance_on = DayField(label="On", help_text="The day on which that was in it.")
    weekly = PoundsField(
        quantities.BILL_POUNDS,
        label="You put by each week",
        required=False,
        help_text="To see whether you are ahead or behind.",
        example="60.00",
    )
    ill_weeks = with_unit(
        NumberField(
            _WEEKS_ILL, label="Ill for", required=False, help_text="How long an illness the pot should survive."
        ),
        "weeks",
    )
    hire_pauses = forms.BooleanField(
        label="The hire asks for nothing while you are ill", required=False, help_text="As its agreement says."
    )
    keeps_car = forms.TypedChoiceField(
        label="At the end of the agreement",
        choices=[
            ("yes", "You pay the final payment and keep it"),
            ("no", "The car goes back"),
            ("", "Not settled"),
        ],
        coerce=lambda answer: answer == "yes",
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
    )

    def __init__(
        self, data: Any = None, *, by: Member, plan: PotPlan | None, ways: Collection[AgreementKind], today: date
    ) -> None:
        self.by, self.plan, self.today = by, plan, today
        super().__init__(data, initial={"balance_on": today, **_initial(plan)}, label_suffix="")
        if plan is not None:
            kept = f"Leave it empty to keep {pounds(plan.balance)} from {day(plan.balance_on)}."
            unmarked(self.fields["balance"]).required = False
            self.fields["balance"].help_text = kept
        if not any(way.is_hire for way in ways):
            del self.fields["hire_pauses"]
        if not any(way.has_choice_of_end for way in ways):
            del self.fields["keeps_car"]
        # One that is over takes no room: it moves nothing any more.
        known = [holiday for holiday in holidays_of(plan) if holiday.last >= today]
        self.holidays = range(1, min(_MOST_HOLIDAYS, max(_FIRST_HOLIDAYS, len(known) + 1)) + 1)
        for number in self.holidays:
            first, last = known[number - 1] if number <= len(known) else (None, None)
            self.fields[f"off_{number}_from"] = unmarked(_holiday_day(f"Holiday {number}, from", first))
            self.fields[f"off_{number}_to"] = unmarked(_holiday_day(f"Holiday {number}, to", last))
        self.fields["off_1_from"].help_text = _WHOLE_WEEKS
        put_today(self.fields, today)

    @property
    def holiday_fields(self) -> list[forms.BoundField]:
        """The first and last day of each holiday."""
        return [self[f"off_{number}_{end}"] for number in self.holidays for end in ("from", "to")]

    def clean(self) -> dict[str, Any]:
        """Make the holidays one value. What begins has an end: a day that is left out is asked for."""
        data = self.cleaned_data
        if self.plan is not None and "balance" in data and data["balance"] is None:
            # Whoever changes holidays or an illness need not count the pot again.
            data |= {"balance": self.plan.balance, "balance_on": self.plan.balance_on}
        elif data.get("balance_on") and data["balance_on"] < add_months(self.today, -_OLDEST_MONTHS):
            self.add_error("balance_on", "That is more than a year ago: say what is in the pot now.")
        spans = []
        for number in self.holidays:
            first, last = data.pop(f"off_{number}_from", None), data.pop(f"off_{number}_to", None)
            if first and last and last < first:
                self.add_error(f"off_{number}_to", "The last day must not lie before the first.")
            elif last and last < self.today:
                self.add_error(f"off_{number}_to", "This holiday is over: leave it out.")
            elif first and last:
                spans.append(Period(first, last))
            elif first and not self.has_error(f"off_{number}_to"):
                self.add_error(f"off_{number}_to", "Give its last day too: for one day off, the same day.")
            elif last and not self.has_error(f"off_{number}_from"):
                self.add_error(f"off_{number}_from", "Give its first day too: for one day off, the same day.")
        # Nothing is planned for no week.
        data["ill_weeks"] = data.get("ill_weeks") or None
        data["holidays"] = [[first.isoformat(), last.isoformat()] for first, last in sorted(spans)]
        return data

    def answered_before(self) -> Iterable[str]:
        """What is as it was when the plan was saved is not asked about again."""
        if self.plan is None:
            return []
        plan = self.plan
        return [doubt.key for doubt in self._doubts_of(plan.balance, plan.weekly, holidays_of(plan))]

    def doubts(self) -> Iterable[Doubt]:
        """Return what can hardly be in the pot, or put by, for the bills of the year."""
        data = self.cleaned_data
        spans = [Period(date.fromisoformat(first), date.fromisoformat(last)) for first, last in data["holidays"]]
        return self._doubts_of(data["balance"], data["weekly"], spans)

    def _doubts_of(self, balance: Decimal, weekly: Decimal | None, holidays: Sequence[Period]) -> list[Doubt]:
        typed: dict[str, int | None] = {
            "balance": to_pence(balance),
            "weekly": None if weekly is None else to_pence(weekly),
            "off_1_to": len(weeks_off(self.today, holidays, year_from(self.today).last).off),
        }
        return plausible_pot.plan_doubts(typed, plan_limits(self.by, self.plan, self.today))


def _initial(plan: PotPlan | None) -> dict[str, Any]:
    if plan is None:
        return {}
    keeps = {True: "yes", False: "no", None: ""}[plan.keeps_car]
    # The balance is asked anew: what was in the pot some time ago is no proposal.
    return {"weekly": plan.weekly, "ill_weeks": plan.ill_weeks, "hire_pauses": plan.hire_pauses, "keeps_car": keeps}


def _holiday_day(label: str, value: date | None) -> DayField:
    return DayField(label=label, may_be_ahead=True, required=False, initial=value)


class PotBillForm(AskingForm):
    """A bill or a quote. ``cleaned_data`` has the fields of `PotBill`, of a new one with its reference."""

    doubt_words = POT_BILL_DOUBTS

    ref = RefField()
    #: The bill in the list whose place a new one takes, if it is still the one that is asked about.
    instead = forms.IntegerField(required=False, widget=forms.HiddenInput)
    kind = forms.ChoiceField(
        label="What for", choices=[("", "Choose…"), *BILL_CHOICES], error_messages={"required": "Choose one."}
    )
    words = forms.CharField(
        label="In your words",
        max_length=80,
        required=False,
        validators=[on_one_line],
        help_text="Only for something else.",
    )
    amount = PoundsField(
        quantities.BILL_POUNDS,
        label="To pay",
        example="840.00",
        help_text="Enter 0 if the rental, or anybody else, pays it.",
    )
    due_on = DayField(
        label="On",
        may_be_ahead=True,
        required=False,
        help_text="For what falls due you may leave it empty: the book’s own day counts.",
    )
    is_yearly = forms.BooleanField(label="It comes every year", required=False)
    car = forms.ChoiceField(
        label="Car",
        required=False,
        help_text="A quote for one car goes before one for all. "
        "£0 for all your cars means that you pay for none of them.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        by: Member,
        cars: Sequence[Car],
        today: date,
        bill: PotBill | None = None,
        asked: Mapping[str, str] | None = None,
    ) -> None:
        """``asked`` is what the address proposes of a new one; ``bill`` is the one to correct."""
        self.by, self.today, self.bill = by, today, bill
        self.cars = {car.registration: car for car in cars}
        super().__init__(data, initial=_of_bill(bill) if bill else dict(asked or {}), label_suffix="")
        if bill is not None:
            del self.fields["ref"], self.fields["instead"]
            if bill.car:
                self.cars.setdefault(bill.car.registration, bill.car)
        self.fields["car"].choices = [  # type: ignore[attr-defined]
            ("", "All your cars"),
            *((mark, show(mark)) for mark in self.cars),
        ]
        # Of one car there is nothing to choose: it is that one, or what the bill said before.
        self.one_car = None
        if len(self.cars) < 2:
            self.one_car = bill.car if bill else next(iter(self.cars.values()), None)
            del self.fields["car"]
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """What has no day of its own needs one, and what has no name words."""
        data = self.cleaned_data
        kind = BILL_KINDS.get(data.get("kind", ""))
        chosen = self.cars.get(data["car"]) if "car" in data else self.one_car
        data["car"] = chosen if kind and kind.of_car else None
        if kind is None:
            return data
        if kind.is_named and not data.get("words") and "words" not in self.errors:
            self.add_error("words", "Say what it is for.")
        if not kind.falls_due and not data.get("due_on") and "due_on" not in self.errors:
            self.add_error("due_on", "Give the day on which it is to be paid.")
        if self._is_of_another_grade(kind) and not data.get("due_on") and "due_on" not in self.errors:
            words = f"Your grade is {self.by.grade}, which has no {kind.words}: give the day, if you pay for one."
            self.add_error("due_on", words)
        if not kind.is_named:
            data["words"] = ""
        if kind.falls_due:
            data["is_yearly"] = False
        return data

    def _is_of_another_grade(self, kind: BillKind) -> bool:
        """Whether only members of another grade hold it, so that the book knows no day for it."""
        held_by = DUE_KINDS[kind.name].held_by if kind.falls_due else ()
        return bool(held_by) and self.by.grade not in held_by

    def answered_before(self) -> Iterable[str]:
        """What the bill said before it is corrected is not asked about again."""
        if self.bill is None:
            return []
        return [doubt.key for doubt in plausible_pot.bill_doubts(*self._held_against(_as_told(self.bill)))]

    def doubts(self) -> Iterable[Doubt]:
        """Return what can hardly be right by the law, and by the member's own bills and costs."""
        typed, limits = self._held_against(self.cleaned_data)
        if "instead" in self.fields:
            # Its key was pressed for what was typed then: of another kind or day, or once it is gone, it says nothing.
            self.cleaned_data["instead"] = plausible_pot.replaced(typed, limits)
        return plausible_pot.bill_doubts(typed, limits)

    def _held_against(self, told: Mapping[str, Any]) -> tuple[dict[str, Any], Limits]:
        """What is told of a bill as it is weighed, and the limits that it is held against."""
        kind, car, due_on = BILL_KINDS[told["kind"]], told["car"], told["due_on"]
        typed = {
            "kind": kind.name,
            "words": told["words"],
            "car": car.registration if car else "",
            "amount": to_pence(told["amount"]),
            "due_on": due_on.isoformat() if due_on else None,
            "is_yearly": "on" if told["is_yearly"] else "",
            "instead": str(told.get("instead") or ""),
        }
        return typed, bill_limits(self.by, kind, told["words"], car, self.today, self.bill)


#: The fields of a bill, but for its car.
_TOLD = ("kind", "words", "amount", "due_on", "is_yearly")


def _as_told(bill: PotBill) -> dict[str, Any]:
    return {name: getattr(bill, name) for name in _TOLD} | {"car": bill.car}


def _of_bill(bill: PotBill) -> dict[str, Any]:
    return _as_told(bill) | {"car": bill.car.registration if bill.car else ""}
