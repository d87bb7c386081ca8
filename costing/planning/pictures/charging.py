"""What to charge as the page says it: sentences first, then the drawing, and the table behind both."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import floor

from config.charts.even import BreakEven
from config.showing import in_words, pence_as_pounds, percent
from costing.core.catalogue.costs import COST_CATEGORIES, Driver
from costing.core.money import divide_half_up, to_pence
from costing.models import ChargePlan
from costing.planning.core.charging import (
    MORE_MILES,
    WEEKS_OF_A_YEAR,
    CarCost,
    Lessons,
    cancelled_hour,
    variable_hour,
)
from costing.planning.pictures.words import exact, figure, hours_in_words, in_pence, lessons_in_words, money, plain
from costing.planning.report import OwnCost

#: No week has more.
HOURS_OF_A_WEEK = 7 * 24
#: What of the cost may be typed by hand, by its field of the plan.
LACKS = {
    "car_a_week": "what the car costs a week",
    "car_pence_a_mile": "what a mile costs",
    "miles_an_hour": "how many miles a lesson hour takes",
}


@dataclass(frozen=True)
class ChargePicture:
    """A plan over what the book knows of the member's cost; what is typed by hand goes before that."""

    plan: ChargePlan
    own: OwnCost

    @cached_property
    def cost(self) -> CarCost | None:
        """What the car costs the lessons; None while a part of it is neither known nor typed."""
        if self.lacks:
            return None
        plan, own = self.plan, self.own.cost
        return CarCost(
            week=in_pence(plan.car_a_week) if plan.car_a_week is not None else _of(own, "week"),
            mile=exact(plan.car_pence_a_mile) if plan.car_pence_a_mile is not None else _of(own, "mile"),
            hour=own.hour if own else Fraction(0),
            miles_an_hour=(exact(plan.miles_an_hour) if plan.miles_an_hour is not None else _of(own, "miles_an_hour")),
        )

    @property
    def lacks(self) -> list[str]:
        """What of the cost is neither known nor typed."""
        if self.own.cost is not None:
            return []
        return [words for name, words in LACKS.items() if getattr(self.plan, name) is None]

    @cached_property
    def weeks(self) -> Fraction:
        """The weeks of a year in which there are lessons."""
        return weeks_of(self.plan.weeks_a_year)

    @property
    def _over_the_year(self) -> str:
        """What a sum a week is for, where other weeks than those with lessons are among them."""
        return "a week" if self.plan.weeks_a_year is None else "a week over the whole year"

    @property
    def _when_taught(self) -> str:
        """In which weeks the hours are taught."""
        return "a week" if self.plan.weeks_a_year is None else "in a week with lessons"

    @cached_property
    def hours(self) -> Fraction | None:
        """The hours of a week with lessons: as typed, else as the book has them."""
        if self.plan.hours_a_week is not None:
            return exact(self.plan.hours_a_week)
        return self.own.hours_in(self.weeks)

    @cached_property
    def lessons(self) -> Lessons | None:
        """The lessons of a year; None while the cost is not known."""
        if self.cost is None:
            return None
        other = 0 if self.plan.other_costs is None else in_pence(self.plan.other_costs)
        return Lessons(
            variable=variable_hour(self.cost),
            fixed=(self.cost.week + other) * WEEKS_OF_A_YEAR,
            weeks=self.weeks,
            hours_a_week=self.hours,
            price=self.price,
        )

    @property
    def price(self) -> int | None:
        """The price of a lesson hour in pence; None if none is typed."""
        typed = self.plan.lesson_hour_price
        return None if typed is None else to_pence(typed)

    @property
    def wanted(self) -> Fraction | None:
        """What is to be left of a year, in pence; None if nothing is typed."""
        return None if self.plan.wanted is None else in_pence(self.plan.wanted) * WEEKS_OF_A_YEAR

    @property
    def unlogged(self) -> str:
        """Which usual costs the months have nothing of, as a sentence; empty if none, or if their rate is typed."""
        typed = {
            Driver.DAYS: self.plan.car_a_week is not None,
            Driver.MILES: self.plan.car_pence_a_mile is not None,
        }
        rows = [COST_CATEGORIES[name] for name in self.own.unlogged]
        names = [f"no {row.words.lower()}" for row in rows if not typed[row.driver]]
        if not names:
            return ""
        listed = f"{', '.join(names[:-1])} and {names[-1]}" if names[1:] else names[0]
        is_one = len(names) == 1 and not names[0].endswith("s")
        verb, them = ("was", "it") if is_one else ("were", "these")
        when = "in these months" if self.own.months[1:] else "in that month"
        return f"{listed[:1].upper()}{listed[1:]} {verb} logged {when}: without {them} the answer is too good."

    @property
    def answer(self) -> str:
        """The one sentence that matters first; empty while nothing can be said."""
        lessons = self.lessons
        if lessons is None:
            return ""
        if lessons.price is None:
            return self._price_wanted or self._cost_of_an_hour
        charged = pence_as_pounds(lessons.price)
        if lessons.left is None or lessons.left_an_hour is None:
            return f"{charged} an hour brings in {money(lessons.contribution)} over what the hour costs"
        if lessons.left < 0:
            return f"{charged} an hour is {money(-lessons.left_an_hour)} less than an hour costs you"
        a_week = f"{self._left_of(WEEKS_OF_A_YEAR)} {self._over_the_year}"
        return f"{charged} an hour leaves {money(lessons.left_an_hour)} after {self._costs}, {a_week}"

    @property
    def _costs(self) -> str:
        """What is paid for first, in words."""
        return "the car" if self.plan.other_costs is None else "the car and other costs"

    def _left_of(self, weeks: Fraction) -> str:
        """What of a year is left in each of so many weeks, in whole pounds where it rests on an estimate."""
        left = ((self.lessons and self.lessons.left) or Fraction(0)) / weeks
        return money(left).removesuffix(".00") if not self.own.is_estimate else f"£{divide_half_up(left, 100):,}"

    @property
    def _cost_of_an_hour(self) -> str:
        lessons = self.lessons
        if lessons is None or lessons.cost_an_hour is None:
            return ""
        return f"A lesson hour costs you {money(lessons.cost_an_hour)}"

    @property
    def _price_wanted(self) -> str:
        if self.lessons is None or self.wanted is None or self.plan.wanted is None:
            return ""
        price = self.lessons.price_needed(self.wanted)
        if price is None:
            return ""
        wanted = f"{pence_as_pounds(to_pence(self.plan.wanted))} {self._over_the_year}"
        return f"Charge {pence_as_pounds(price)} an hour, and {wanted} is left"

    def sentences(self) -> Iterator[str]:
        """Yield what else follows, most useful first."""
        if self.lessons is None or self.cost is None:
            return
        yield from self._each_week(self.lessons)
        yield from self._even(self.lessons)
        yield from self._for_what_is_wanted(self.lessons)
        yield from self._lost(self.lessons, self.cost)
        yield from self._further(self.cost)

    def _each_week(self, lessons: Lessons) -> Iterator[str]:
        """What the hours of one week leave, so that nobody takes the sum of the year's weeks for it."""
        if self.plan.weeks_a_year is not None and lessons.left is not None and lessons.left >= 0:
            weeks = plain(self.plan.weeks_a_year)
            each = f"the {weeks} weeks" if self.weeks != 1 else "the one week"
            yield f"That is {self._left_of(self.weeks)} for each of {each} with lessons, spread over all of the year."

    def _even(self, lessons: Lessons) -> Iterator[str]:
        needed = lessons.whole_hours_needed()
        if lessons.contribution is not None and lessons.contribution <= 0:
            yield "At this price an hour brings in no more than its miles cost: no number of hours pays for the car."
        if needed is None:
            return
        if needed > HOURS_OF_A_WEEK:
            long = hours_in_words(needed)
            yield f"At this price it takes {long} {self._when_taught} to pay for {self._costs}: no week has so many."
            return
        if not needed:
            yield "There is no weekly cost to pay for first."
            return
        hours = f"{hours_in_words(needed)} {self._when_taught}{self._or_lessons(needed)}"
        yield f"It takes {hours} to pay for {self._costs}."
        margin = lessons.margin_of_safety
        if margin is None or self.hours is None:
            return
        # To lose a tenth of an hour more than there is to spare would be to pay for work.
        taught, spare = hours_in_words(self.hours), hours_in_words(abs(Fraction(floor(margin * self.hours * 10), 10)))
        if margin < 0:
            yield f"You teach {taught} {self._when_taught}: {spare} too few for that."
        else:
            lost = percent(floor(margin * 100))
            yield f"You teach {taught}. You could lose {spare} of them, {lost}, before you pay to work."

    def _or_lessons(self, hours: int) -> str:
        """The hours that pay for the car as lessons, where these are other than so many."""
        count = self.lessons.lessons_needed(self.own.minutes_a_lesson) if self.lessons else None
        is_an_hour = divide_half_up(self.own.minutes_a_lesson, 1) == 60
        return "" if is_an_hour or count in {None, hours} else f", or {lessons_in_words(count or 0)} as long as yours,"

    def _for_what_is_wanted(self, lessons: Lessons) -> Iterator[str]:
        if self.wanted is None or self.plan.wanted is None or lessons.price is None:
            return
        asked = pence_as_pounds(to_pence(self.plan.wanted))
        price, hours = lessons.price_needed(self.wanted), lessons.whole_hours_needed(self.wanted)
        ways = []
        if price is not None and self.hours is not None:
            ways.append(f"{pence_as_pounds(price)} an hour at {hours_in_words(self.hours)} {self._when_taught}")
        if hours is not None and hours <= HOURS_OF_A_WEEK:
            ways.append(f"{hours_in_words(hours)} {self._when_taught} at {pence_as_pounds(lessons.price)}")
        if ways:
            yield f"For {asked} {self._over_the_year} you need {', or '.join(ways)}."

    def _lost(self, lessons: Lessons, cost: CarCost) -> Iterator[str]:
        if lessons.price is None:
            return
        lost = cancelled_hour(lessons.price, cost)
        saved, driven = money(lost.miles_saved), money(lost.miles_driven)
        if lost.miles_driven <= 0:
            return
        if lost.miles_saved < 0:
            yield f"An hour cancelled and not filled costs you {driven} if its miles are driven all the same."
            return
        yield f"An hour cancelled and not filled costs you {saved}, or {driven} if its miles are driven all the same."

    def _further(self, cost: CarCost) -> Iterator[str]:
        miles = MORE_MILES if self.plan.miles_between is None else self.plan.miles_between
        if not miles:
            return
        a_lesson = cost.mile * miles
        words = (
            f"{in_words(miles)} more mile{'' if miles == 1 else 's'} between lessons cost{'s' if miles == 1 else ''}"
        )
        a_week = ""
        if self.hours:
            lessons = self.hours * 60 / self.own.minutes_a_lesson * self.weeks / WEEKS_OF_A_YEAR
            a_week = f" and {money(a_lesson * lessons)} {self._over_the_year}"
        yield f"{words[:1].upper()}{words[1:]} {money(a_lesson)} a lesson{a_week}, before the time they take."

    @property
    def drawing(self) -> BreakEven | None:
        """Takings and cost of a week over the hours taught in it; None without a price."""
        lessons = self.lessons
        if lessons is None or lessons.price is None:
            return None
        needed = lessons.hours_needed()
        return BreakEven(
            title=self._finding,
            price=lessons.price,
            variable=float(lessons.variable),
            fixed=float(lessons.fixed / lessons.weeks),
            even=None if needed is None else float(needed),
            taught=None if self.hours is None else float(self.hours),
        )

    @property
    def _finding(self) -> str:
        assert self.lessons is not None  # noqa: S101 - the caller has asked
        needed = self.lessons.whole_hours_needed()
        if needed is None:
            return f"No number of hours pays for {self._costs}"
        if not needed:
            return "Each hour brings in more than it costs"
        return f"{hours_in_words(needed)} {self._when_taught} pay{'s' if needed == 1 else ''} for {self._costs}"


def weeks_of(weeks_a_year: Decimal | None) -> Fraction:
    """Return the weeks of a year with lessons: all of them unless somebody said how many."""
    return WEEKS_OF_A_YEAR if weeks_a_year is None else exact(weeks_a_year)


def in_the_book(own: OwnCost, weeks_a_year: Decimal | None) -> str:
    """Return the hours that the book has for each of so many weeks of the year; "" if it has none."""
    hours = own.hours_in(weeks_of(weeks_a_year))
    return "" if hours is None else figure(hours)


def _of(own: CarCost | None, name: str) -> Fraction:
    assert own is not None  # noqa: S101 - nothing is lacking
    value: Fraction = getattr(own, name)
    return value
