"""A week of lessons in one car, a stepper a day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.forms import BoundField
from django.urls import reverse

from config import asking, quantities, showing
from config.fields import HoursField, Link, MilesField, NumberField, with_lately, with_unit
from costing.core.plausible.logged import is_only_private
from costing.core.week import DAYS, DayShare, shared_out
from costing.forms import raw
from costing.forms.entries import EntryForm
from costing.models import TeachingRecord
from costing.queries.weeks import Week, WeekDay
from costing.wording.doubts import LESSON_DOUBTS
from fleet.core.plausible.doubt import Typed
from fleet.models import Car
from instructors.models import Member

_FIELDS = tuple(f"day_{number}" for number in range(DAYS))
_TOO_MUCH = "These lessons and hours do not fit together. A day has 24 hours."


@dataclass(frozen=True)
class DayRow:
    """A day of the week as the page shows it."""

    field: BoundField
    of: WeekDay | None

    @property
    def is_proposed(self) -> bool:
        """Whether what stands there is a proposal that nobody has touched."""
        return self.of is not None and self.of.is_open and not self.of.is_logged and not self.field.form.is_bound


def _lessons(name: str) -> NumberField:
    return NumberField(quantities.COUNT, label=name, required=False)


class WeekForm(EntryForm):
    """The lessons of one week. A day that is left empty is not logged; one with 0 is known to have had none.

    ``cleaned_data`` has the ``days`` to be logged: those whose lessons are not in the book yet, or not so many.
    """

    kind, model = "week", TeachingRecord

    week = forms.DateField(widget=forms.HiddenInput, required=False)
    how = forms.ChoiceField(
        label="This week", choices=[("add", "Add"), ("replace", "Replace")], required=False, widget=forms.HiddenInput
    )
    lesson_minutes = NumberField(quantities.COUNT.within(least=1, most=24 * 60), widget=forms.HiddenInput)
    day_0 = _lessons("Monday")
    day_1 = _lessons("Tuesday")
    day_2 = _lessons("Wednesday")
    day_3 = _lessons("Thursday")
    day_4 = _lessons("Friday")
    day_5 = _lessons("Saturday")
    day_6 = _lessons("Sunday")
    hours = with_unit(HoursField(label="In all", required=False), "hours")
    private_miles = MilesField(label="Private", required=False)
    doubt_words = LESSON_DOUBTS

    def __init__(
        self,
        data: Any = None,
        *,
        by: Member,
        cars: Sequence[Car],
        today: date,
        shown: Week | None = None,
        is_none: bool = False,
    ) -> None:
        super().__init__(data, by=by, cars=cars, today=today)
        self.shown, self.is_none = shown, is_none
        self.days = shown.days if shown else []
        self.put_keys(*_FIELDS, "private_miles")
        del self.fields["day_0"].widget.attrs["autofocus"]  # most of it is proposed, and tapped
        with_lately(self.fields["private_miles"], "miles this week")
        if shown:
            self._propose(shown)

    def _propose(self, shown: Week) -> None:
        self.initial["car"], self.initial["week"] = shown.car.registration, shown.monday
        self.initial["lesson_minutes"] = shown.minutes_a_lesson
        for name, day in zip(_FIELDS, shown.days, strict=True):
            self.initial[name] = (day.logged if day.is_logged else day.proposed) if day.is_open else None
            if not day.is_open:
                self.fields[name].widget.attrs["disabled"] = True
        if shown.is_all_logged:
            self._say_logged(shown.lessons_logged, shown.minutes_logged, shown.private_logged)
            return
        lessons = sum(day.proposed for day in shown.days if day.is_open and not day.is_logged)
        with_lately(self.fields["hours"], f"{lessons} lesson{'' if lessons == 1 else 's'}")
        self.fields["hours"].widget.attrs["placeholder"] = showing.hours(lessons * shown.minutes_a_lesson)

    def _say_logged(self, lessons: int | None, minutes: int | None, private: int | None) -> None:
        """Show the whole week as it is in the book; `static/slip.js` does the same."""
        whole = "" if lessons is None else f"{lessons} lesson{'' if lessons == 1 else 's'}, "
        with_lately(self.fields["hours"], f"{whole}nothing to save")
        self.fields["hours"].widget.attrs["placeholder"] = "" if minutes is None else showing.hours(minutes)
        self.fields["private_miles"].widget.attrs["placeholder"] = "" if private is None else showing.whole(private)

    def day_rows(self) -> list[DayRow]:
        """Return the days with their fields; without a week to show, they are nobody's yet."""
        days = self.shown.days if self.shown else [None] * DAYS
        return [DayRow(self[name], day) for name, day in zip(_FIELDS, days, strict=True)]

    def clean(self) -> dict[str, Any]:
        """Find the days to be logged, and share hours and private miles over them."""
        data = self.cleaned_data
        typed = self._none() if self.is_none else self._typed()
        if self.errors:
            return data
        if not typed:
            self.add_error("day_0", "Fill in a day at least: 0 if there were no lessons.")
            return data
        minutes, private = (0, 0) if self.is_none else (data["hours"], data["private_miles"])
        lessons = sum(typed.values())
        try:
            data["days"] = shared_out(typed, lessons * data["lesson_minutes"] if minutes is None else minutes, private)
        except ValueError:
            self.add_error("hours", _TOO_MUCH)
        if minutes and not lessons:
            self.add_error("hours", "You logged hours: say how many lessons they were.")
        return data

    def _none(self) -> dict[date, int]:
        days = dict.fromkeys(self.shown.to_log if self.shown else (), 0)
        if not days:
            self.add_error("day_0", "The lessons of these days are in the book already.")
        return days

    def _typed(self) -> dict[date, int]:
        """The lessons that are typed for days where the book has none, or others; if there are none such, all typed."""
        data = self.cleaned_data
        typed: dict[date, int] = {}
        same: dict[date, int] = {}
        for name, day in zip(_FIELDS, self.days, strict=True):
            lessons = data.pop(name, None)
            if lessons is None:
                continue
            if not day.is_open:
                is_ahead = day.day > self.today
                self.add_error(name, "This day has not come yet." if is_ahead else "The car was not yours on this day.")
            (same if day.is_logged and day.logged == lessons else typed)[day.day] = lessons
        return typed or same

    def as_sent(self) -> Typed | None:
        if not self.shown:
            return None
        typed = {
            name: (day, raw.figure(self.text_of(name), 0))
            for name, day in zip(_FIELDS, self.days, strict=True)
            if day.is_open
        }
        told = {name: count for name, (_, count) in typed.items() if count is not None and count >= 0}
        others = {name for name in told if not typed[name][0].is_logged or typed[name][0].logged != told[name]}
        days = {name: told[name] for name in others or told}
        if not days:
            return None
        private = raw.figure(self.text_of("private_miles"), 0)
        return {
            "from_on": self.shown.monday.isoformat(),
            "to_on": max(typed[name][0].day for name in days).isoformat(),
            **{name: days.get(name) for name in _FIELDS},
            "hours": raw.minutes(self.text_of("hours")),
            "private_miles": private and abs(private),
            "how": self.text_of("how"),
        }

    def to_log(self) -> tuple[list[DayShare], bool]:
        """Return the days to be logged, and whether they take the place of what is in the book of them.

        So do private miles that come later: the lessons and their minutes stay as they are.
        """
        data = self.cleaned_data
        days, typed = data["days"], self.typed(data)
        if typed and self._limits and is_only_private(typed, self._limits):
            return [one._replace(minutes=None) for one in days], True
        return days, data["how"] == "replace"

    def link_of(self, doubt: asking.Doubt) -> Link | None:
        """Days of a longer record are put right there."""
        if doubt.reason != "week_beyond":
            return None
        month = str(doubt.figures["since"])[:7]
        return Link(f"{reverse('costing:entries')}?kind=lessons&month={month}", self.doubt_words["=week_beyond"])

    def typed(self, figures: Mapping[str, Any]) -> Typed | None:
        """The days that would be logged, from the Monday on; None without a week."""
        if not self.shown:
            return None
        days = {f"day_{one.day.weekday()}": one.lessons for one in figures["days"]}
        return {
            "from_on": self.shown.monday.isoformat(),
            "to_on": max(one.day for one in figures["days"]).isoformat(),
            **{name: days.get(name) for name in _FIELDS},
            "hours": figures["hours"],
            "private_miles": figures["private_miles"],
            "how": figures["how"],
        }
