"""Which two periods are compared, and why a lesson hour moved between them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

from costing.core.depreciation import days_losing
from costing.core.keeping import days_with_a_car
from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY, days_in, month_of, months_within, spanning, tax_year_of
from costing.core.records import Period
from costing.report import Together
from costing.statement.core.burned import burned
from costing.statement.core.moved import Moved, Spell, moved, spell_of
from costing.statement.services.ends import ChargedAtEnd, charged_at_ends
from costing.statement.services.own import OwnBooks
from costing.wording.service import had_no_car
from fleet.core.days import add_months

#: So many months before one are looked at for the nearest that is known.
_MOST_BACK = 12


class Lacking(NamedTuple):
    """A period whose lesson hour is not known, and why."""

    period: Period
    reasons: tuple[str, ...]


class EndInHour(NamedTuple):
    """What was charged on a last day with a car, as pence a lesson hour.

    It is of the period if ``is_now``, else of what that is held against.
    """

    end: ChargedAtEnd
    an_hour: int
    is_now: bool


@dataclass(frozen=True)
class WhyMoved:
    """Why the lesson hour of a ``period`` moved since ``than``; ``moved`` is None if one of the two ``lacks`` it.

    ``ends`` are what of the two was charged on a last day with a car, without what is no penny.
    """

    period: Period
    than: Period
    moved: Moved | None
    lacks: tuple[Lacking, ...]
    ends: tuple[EndInHour, ...] = ()


def days_compared(period: Period, than: Period | None = None) -> Period:
    """Return the days that `moved_of` looks at."""
    return spanning([period, *_befores(period, than)])


def moved_of(own: OwnBooks, period: Period, than: Period | None = None) -> WhyMoved:
    """Return why a member's lesson hour moved, of one car or of all together.

    Without ``than``, a calendar month is held against the nearest of the 12 before it whose lesson hour is known, and
    any other period against as long a one before it.
    """
    own = own.reaching(days_compared(period, than))
    after, *befores = own.over([period, *_befores(period, than)])
    chosen = next((one for one in befores if one.cost.cost_per_lesson_hour is not None), befores[0])
    spells = [_spell(own, one) for one in (chosen, after)]
    lacks = [
        Lacking(one.cost.period, _reasons(own, one))
        for one, spell in zip((chosen, after), spells, strict=True)
        if spell is None
    ]
    old, new = spells
    if old is None or new is None:
        return WhyMoved(period, chosen.cost.period, None, tuple(lacks))
    ends = (*_ends(own, after, new, is_now=True), *_ends(own, chosen, old, is_now=False))
    return WhyMoved(period, chosen.cost.period, moved(old, new), (), ends)


def _reasons(own: OwnBooks, found: Together) -> tuple[str, ...]:
    if found.is_out_of_service:
        return (had_no_car(is_of_one=own.car is not None),)
    return tuple(found.missing_of_lesson_hour)


def _ends(own: OwnBooks, found: Together, spell: Spell, *, is_now: bool) -> Iterator[EndInHour]:
    for end in charged_at_ends(own, found):
        if an_hour := divide_half_up(end.pence * spell.share, spell.hours):
            yield EndInHour(end, an_hour, is_now)


def _spell(own: OwnBooks, found: Together) -> Spell | None:
    books, period = own.of(found), found.cost.period
    days, losing = days_with_a_car(books, period), days_losing(books, period)
    return spell_of(found.cost, days, burned(books, period), losing)


def _befores(period: Period, than: Period | None) -> Sequence[Period]:
    return [than] if than else _earlier(period)


def _earlier(period: Period) -> Sequence[Period]:
    """With what a period may be compared, the nearest first."""
    first, last = period
    if period == month_of(first):
        return [month_of(add_months(first, -back)) for back in range(1, _MOST_BACK + 1)]
    before = first - ONE_DAY
    if period == tax_year_of(first):
        return [tax_year_of(before)]
    if first.day == 1 and last == month_of(last).last:
        return [Period(add_months(first, -len(months_within(period))), before)]
    return [Period(before - timedelta(days=days_in(period) - 1), before)]
