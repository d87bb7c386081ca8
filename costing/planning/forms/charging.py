"""What a member charges, teaches and wants; each row may be left empty, and the page says so once."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any

from config import quantities
from config.asking import AskingForm
from config.fields import NumberField, PoundsField, unmarked, with_lately, with_unit
from costing.models import ChargePlan
from costing.planning.core import plausible_charge
from costing.planning.core.charging import MORE_MILES
from costing.planning.services.limits import charge_limits
from costing.wording.doubts import CHARGE_DOUBTS
from fleet.core.plausible.doubt import Doubt, Limits
from instructors.models import Member

_PLAN = (
    *("lesson_hour_price", "hours_a_week", "weeks_a_year", "wanted", "other_costs", "miles_between"),
    *("car_a_week", "car_pence_a_mile", "miles_an_hour"),
)
#: What is asked about if it can hardly be right; all have two places.
_ASKED = (
    *("lesson_hour_price", "hours_a_week", "weeks_a_year", "wanted", "other_costs"),
    *("car_a_week", "car_pence_a_mile"),
)


def _pounds(label: str, unit: str, example: str) -> PoundsField:
    return with_unit(
        PoundsField(quantities.LESSON_PRICE.within(most=9_999), label=label, required=False, example=example), unit
    )


def _as_typed(value: Decimal | int | None) -> str | None:
    """A figure without the noughts that nobody types: 46, 38.50."""
    if value is None:
        return None
    return f"{int(value)}" if value == int(value) else f"{value}"


class ChargeForm(AskingForm):
    """A plan. ``cleaned_data`` has the fields of `ChargePlan`."""

    doubt_words = CHARGE_DOUBTS

    lesson_hour_price = _pounds("You charge", "an hour", "38")
    hours_a_week = with_unit(NumberField(quantities.HOURS_A_WEEK, label="Hours taught", required=False), "a week")
    weeks_a_year = with_unit(NumberField(quantities.WEEKS_A_YEAR, label="Weeks taught", required=False), "a year")
    wanted = _pounds("To be left", "a week", "600")
    other_costs = _pounds("Other costs", "a week", "25")
    miles_between = with_unit(
        NumberField(quantities.COUNT.within(most=999), label="More miles", required=False), "miles"
    )
    car_a_week = _pounds("The car", "a week", "90")
    car_pence_a_mile = with_unit(
        NumberField(quantities.PENCE_A_MILE, label="Fuel, tyres, service", required=False), "pence a mile"
    )
    miles_an_hour = with_unit(
        NumberField(
            quantities.HOURS_A_WEEK.within(example="14", after=" miles"), label="Miles a lesson hour", required=False
        ),
        "miles",
    )

    def __init__(self, data: Any = None, *, by: Member, plan: ChargePlan | None, today: date) -> None:
        self.by, self.plan, self.today = by, plan, today
        initial = {name: _as_typed(getattr(plan, name)) for name in _PLAN} if plan else {}
        super().__init__(data, initial=initial, label_suffix="")
        for field in self.fields.values():
            unmarked(field)
        with_lately(self.fields["miles_between"], "between lessons")
        with_lately(self.fields["wanted"], "after the car, before tax")
        with_lately(self.fields["other_costs"], "phone, fees, training")
        with_lately(self.fields["car_a_week"], "taught or not")
        self.fields["miles_between"].widget.attrs["placeholder"] = str(MORE_MILES)

    def answered_before(self) -> Iterable[str]:
        """What is as it was when the plan was saved is not asked about again."""
        told = {name: getattr(self.plan, name) for name in _ASKED} if self.plan else None
        return [doubt.key for doubt in self._doubts_of(told)] if told else []

    def doubts(self) -> Iterable[Doubt]:
        """Return what can hardly be right by what was taken an hour, by the plan before, and by the book."""
        return self._doubts_of(self.cleaned_data)

    def _doubts_of(self, told: Mapping[str, Any]) -> list[Doubt]:
        typed = {name: None if told[name] is None else int(told[name] * 100) for name in _ASKED}
        return plausible_charge.doubts(typed, self._limits)

    @cached_property
    def _limits(self) -> Limits:
        return charge_limits(self.by, self.plan, self.today)

    @property
    def weeks(self) -> Decimal | None:
        """The weeks taught in a year, as typed if that will do, else as planned before; None if nobody said."""
        before = self.plan.weeks_a_year if self.plan else None
        typed: Decimal | None = self.cleaned_data.get("weeks_a_year", before) if self.is_bound else before
        return typed

    def put_own(self, hours: str) -> None:
        """Say which hours of such weeks the book has, which may be left empty; "" if it has none."""
        if hours:
            with_lately(self.fields["hours_a_week"], f"{hours} in the book, over {_as_typed(self.weeks) or 52} weeks")

    @property
    def is_by_hand(self) -> bool:
        """Whether what the car costs is typed, or something of it is refused."""
        return any(self[name].value() not in (None, "") for name in ("car_a_week", "car_pence_a_mile", "miles_an_hour"))
