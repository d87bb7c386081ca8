"""Closing a calendar month: the group's figures of it are worked out once and frozen.

Frozen, so that nobody can learn one member's cost by watching the median move entry by entry. A correction
made since shows as a further revision, found when a later month is closed.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db import IntegrityError, transaction
from django.utils import timezone

from costing.core.car_year import car_year
from costing.core.group import ContributorValues, GroupFigures, contributor_values, group_figures, medians_by_key
from costing.core.periods import month_of, months_ending
from costing.core.records import CarBook, Period
from costing.core.running_cost import days_in_service, monthly_tallies
from costing.models import GroupFigure, GroupRunningFigure, Span
from costing.queries import car_books, cars_with_money_of, closed_months, newest_figure
from instructors.models import Member
from instructors.queries import cooperative

SPAN_MONTHS = {Span.MONTH: 1, Span.YEAR: 12}


class Found(NamedTuple):
    """What the books say: the figures of each month and span, and the running figures of the month to be closed."""

    figures: dict[tuple[date, Span], GroupFigures]
    running: dict[str, tuple[Decimal, int]]


class MonthNotOver(ValueError):
    """The month asked for has not ended yet."""


def ensure_closed(month: date) -> bool:
    """Close the month that begins on ``month`` unless it is closed; whether it was this call that did.

    Closing the newest month also revises the older ones. Raises MonthNotOver.
    """
    if month_of(month).last >= timezone.localdate():
        raise MonthNotOver(f"{month:%Y-%m} is not over yet")
    closed = closed_months()
    if month in closed:
        return False
    # Only the closing of a later month revises: an old month asked for late must not move the others.
    earlier = closed if all(month > other for other in closed) else []
    found = _found(month, earlier)
    try:
        with transaction.atomic():
            _freeze(month, found)
            for other in earlier:
                _revise(other, found.figures)
    except IntegrityError:
        # Somebody else closed it in the same moment, from the same records.
        return False
    return True


def _freeze(month: date, found: Found) -> None:
    GroupFigure.objects.bulk_create(_row(month, span, 0, found.figures[month, span]) for span in SPAN_MONTHS)
    # These are never revised: between two versions of one month somebody's own cost could be read.
    GroupRunningFigure.objects.bulk_create(
        GroupRunningFigure(month=month, key=key, contributor_count=count, median=median)
        for key, (median, count) in found.running.items()
    )


def _revise(month: date, figures: dict[tuple[date, Span], GroupFigures]) -> None:
    for span in SPAN_MONTHS:
        last = newest_figure(month, span)
        if last is None:
            continue
        revised = _row(month, span, last.revision + 1, figures[month, span])
        if _figures_in(revised) != _figures_in(last):
            revised.save(force_insert=True)


def _row(month: date, span: Span, revision: int, found: GroupFigures) -> GroupFigure:
    return GroupFigure(
        month=month,
        span=span,
        revision=revision,
        contributor_count=found.contributors,
        median_cost_per_lesson_pence=found.median_cost_per_lesson,
        median_cost_per_lesson_hour_pence=found.median_cost_per_lesson_hour,
        median_cost_per_mile_pence=found.median_cost_per_mile,
        lower_quartile_cost_per_lesson_hour_pence=found.lower_quartile_cost_per_lesson_hour,
        upper_quartile_cost_per_lesson_hour_pence=found.upper_quartile_cost_per_lesson_hour,
    )


def _figures_in(row: GroupFigure) -> tuple[int | None, ...]:
    return (
        row.contributor_count,
        row.median_cost_per_lesson_pence,
        row.median_cost_per_lesson_hour_pence,
        row.median_cost_per_mile_pence,
        row.lower_quartile_cost_per_lesson_hour_pence,
        row.upper_quartile_cost_per_lesson_hour_pence,
    )


def _found(month: date, earlier: Sequence[date]) -> Found:
    """What the books say of ``month`` and of those closed before it, one member's books in memory at a time."""
    settings = cooperative()
    months = [month, *earlier]
    whole = Period(months_ending(min(months), 12).first, month_of(max(months)).last)
    wanted = {(each, span): months_ending(each, count) for each in months for span, count in SPAN_MONTHS.items()}
    year = (month, Span.YEAR)
    values: dict[tuple[date, Span], list[ContributorValues]] = defaultdict(list)
    running: list[dict[str, Fraction]] = []
    for member in Member.objects.all():
        books = car_books(cars_with_money_of(member), whole, member=member).values()
        of_member = dict(zip(wanted, _values_of(books, list(wanted.values()), settings.depreciation_rate), strict=True))
        for key, value in of_member.items():
            if value is not None:
                values[key].append(value)
        if of_member[year] is not None:
            running.append(car_year(books, wanted[year]).running)
    minimum = settings.minimum_contributors
    figures = {key: group_figures(values[key], minimum) for key in wanted}
    return Found(figures, medians_by_key(running, minimum))


def _values_of(
    books: Collection[CarBook], spans: Sequence[Period], depreciation_rate: Decimal
) -> list[ContributorValues | None]:
    by_car = [monthly_tallies(book, spans, depreciation_rate=depreciation_rate) for book in books]
    services = [book.service for book in books]
    return [
        contributor_values([tallies[index] for tallies in by_car], days_in_service(services, span))
        for index, span in enumerate(spans)
    ]
