"""Closing calendar months: the group's figures are worked out once, rounded, stored, and never changed.

A month is closed on the co-op's closing day in the following month, together with the year that ends with it. The
nightly task and three commands (`demo`, `load_archive --close`, `group_median`) do this; no page does, so that nobody
can choose the moment. Only one process closes months at a time; others wait for it.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from django.db import connection, transaction
from django.utils import timezone

from config.showing import day
from costing.contributions import Contributions, contributions_in
from costing.core.group import (
    CLOSED_FIGURES,
    YEARS_SHARE_MONTHS,
    ClosedPeriod,
    Closing,
    Rounding,
    Told,
    close_month,
    close_year,
    may_have_running,
    running_medians,
    told_of_each,
)
from costing.core.money import to_places, to_pounds
from costing.core.periods import last_ended_month, month_of, months_ending
from costing.core.records import Period
from costing.models import GroupFigure, Span, ToldOfContributor
from costing.queries import closed_months, closings, first_month_to_close, told_since, years_with_running
from costing.queries.as_notified import BookAsNotified, book_as_notified, closes_on
from fleet.core.days import add_months

#: A year shares a month with those ended so many months before it or less.
_SHARING = YEARS_SHARE_MONTHS // 2
#: How long before the closing day a change to somebody's car or details, or to the settings, must have been notified.
NOTICE = timedelta(days=7)
_ONE_AT_A_TIME = "LOCK TABLE costing_groupfigure IN SHARE ROW EXCLUSIVE MODE"


class NotClosedYet(ValueError):
    """The month's closing day has not come yet; the message names the day."""


def last_month_to_close(today: date) -> date:
    """The first day of the newest month whose closing day has come by ``today``."""
    month = last_ended_month(today).first
    return month if closes_on(month) <= today else add_months(month, -1)


def close_past_months(today: date) -> list[date]:
    """Close every month past its closing day since the first that may have figures. Return those newly closed."""
    first, last = first_month_to_close(), last_month_to_close(today)
    return _close_until(last) if first and first <= last else []


def ensure_closed(month: date) -> None:
    """Make sure that the month beginning on ``month``, and every month before it, is closed. Raises NotClosedYet."""
    if closes_on(month) > timezone.localdate():
        raise NotClosedYet(f"{month:%Y-%m} is closed on {day(closes_on(month))}")
    _close_until(month)


def _close_until(last: date) -> list[date]:
    """Close what is still open, oldest first: each year is checked against what was closed before."""
    first = min(first_month_to_close() or last, last)
    with transaction.atomic():
        _wait_for_others()
        closed = set(closed_months())
        wanted = [month for month in _months(first, last) if month not in closed]
        for notified, months in groupby(wanted, key=lambda month: book_as_notified(_notice_ends(month))):
            _close(list(months), notified)
    return wanted


def _wait_for_others() -> None:
    """Let no other transaction close months until this one ends; stored figures can still be read meanwhile.

    On SQLite, a transaction makes every other writer wait from the start.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(_ONE_AT_A_TIME)


def _months(first: date, last: date) -> Iterator[date]:
    while first <= last:
        yield first
        first = add_months(first, 1)


def _notice_ends(month: date) -> datetime:
    return timezone.make_aware(datetime.combine(closes_on(month), time.min)) - NOTICE


class _Closed(NamedTuple):
    """What each member brings to each period, what was stored of it, and what that told of each contributor."""

    found: Mapping[Period, Contributions]
    kept: dict[Period, Closing]
    told: dict[Period, dict[int, Told]]

    def keep(self, period: Period, closing: Closing) -> Closing:
        self.kept[period] = closing
        self.told[period] = told_of_each(*self.of([period]))
        return closing

    def of(self, periods: Sequence[Period]) -> list[ClosedPeriod]:
        return [
            ClosedPeriod(each, self.found[each].by_member, self.kept.get(each), self.told.get(each, {}))
            for each in periods
        ]


def _close(months: Sequence[date], notified: BookAsNotified) -> None:
    """Close ``months``, which are in order, by the book as ``notified`` has it.

    Each year is held against all months and years that share a month with it: eleven years before, and their months.
    """
    ends = list(_months(add_months(months[0], -_SHARING), months[-1]))
    singles = [month_of(each) for each in _months(add_months(ends[0], -_SHARING), ends[-1])]
    years = [months_ending(end, 12) for end in ends]
    found = contributions_in(singles, years, {months_ending(month, 12) for month in months}, notified)
    kept = {month_of(month): each for month, each in closings([each.first for each in singles], Span.MONTH).items()}
    kept |= {months_ending(end, 12): each for end, each in closings(ends, Span.YEAR).items()}
    closed = _Closed(found, kept, told_since(singles[0].first))
    having = years_with_running()
    minimum, rounding = notified.cooperative.minimum_contributors, Rounding(notified.cooperative.rounding)
    for month in months:
        single, year = month_of(month), months_ending(month, 12)
        of_month = closed.keep(
            single,
            close_month(list(found[single].values.values()), out=found[single].out, minimum=minimum, rounding=rounding),
        )
        # By their own days, not by their places: between two months that are closed now may lie some closed before.
        sharing = [each for each in years if year.first <= each.last < year.last]
        of_year = closed.keep(
            year,
            close_year(
                year,
                found[year].values,
                closed.of([each for each in singles if sharing[0].first <= each.first <= single.first]),
                closed.of(sharing),
                out=found[year].out,
                minimum=minimum,
                rounding=rounding,
            ),
        )
        may_run = of_year.has_figures and may_have_running(year, having)
        running = running_medians(found[year].running, minimum) if may_run else {}
        if running:
            having.append(year)
        _store(_row(month, Span.MONTH, of_month, {}), closed.told[single])
        _store(_row(month, Span.YEAR, of_year, running), closed.told[year])


def _store(figure: GroupFigure, told: Mapping[int, Told]) -> None:
    figure.save()
    ToldOfContributor.objects.bulk_create(
        ToldOfContributor(figure=figure, member_id=member, least=each.least, most=each.most)
        for member, each in told.items()
    )


def _row(month: date, span: Span, closing: Closing, running: Mapping[str, Fraction]) -> GroupFigure:
    figures = {name: getattr(closing, name) for name in CLOSED_FIGURES}
    return GroupFigure(
        month=month,
        span=span,
        contributor_count=closing.contributors,
        out_count=closing.out,
        minimum=closing.minimum,
        rounded_to=closing.rounded_to,
        **{name: None if pence is None else to_pounds(pence) for name, pence in figures.items()},
        **{name: to_places(median, 2) for name, median in running.items()},
    )
