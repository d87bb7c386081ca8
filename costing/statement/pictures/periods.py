"""The periods that one tap shows."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import NamedTuple
from urllib.parse import urlencode

from django.urls import reverse

from config.showing import month
from costing.core.periods import LONGEST_DAYS, ONE_DAY, last_ended_month, month_of, months_ending, tax_year_of
from costing.core.records import Period
from costing.report import so_far_title
from costing.wording.periods import title_of
from fleet.core.days import add_months
from fleet.models import Car


class PeriodChip(NamedTuple):
    """A period that one tap shows."""

    words: str
    address: str
    is_shown: bool


def asked_for(period: Period, car: Car | None) -> str:
    """The query that asks for a period, of one car or of all."""
    asked = {"first": period.first.isoformat(), "last": period.last.isoformat()}
    return urlencode(asked | ({"car": car.registration} if car else {}))


def address_of(period: Period, car: Car | None, page: str = "costing:statement") -> str:
    """The address of the statement of a period."""
    return f"{reverse(page)}?{asked_for(period, car)}"


def chips_of(
    today: date,
    shown: Period,
    car: Car | None,
    known_part: Callable[[Period], Period | None],
    first_entry: date | None,
) -> list[PeriodChip]:
    """Return the periods that are asked for most; what still runs ends on the day until which it is known.

    All years are among them once the first entry is older than the 12 months.
    """
    ended, tax_year = last_ended_month(today), tax_year_of(today)
    month_so_far, year_so_far = Period(month_of(today).first, today), Period(tax_year.first, today)
    year = months_ending(ended.first, 12)
    spans = [
        _so_far(month(today), month_so_far, known_part(month_so_far)),
        (month(ended.first), ended),
        (f"12 months to {month(ended.first)}", year),
        _so_far("This tax year", year_so_far, known_part(year_so_far)),
        ("Last tax year", tax_year_of(tax_year.first - ONE_DAY)),
    ]
    if first_entry and first_entry < year.first:
        spans.append(_all_years(first_entry, (known_part(year_so_far) or year_so_far).last))
    return [PeriodChip(words, address_of(span, car), span == shown) for words, span in spans]


def _all_years(first_entry: date, last: date) -> tuple[str, Period]:
    """From the first entry on, or as many years of it as a statement may have."""
    longest = last - timedelta(days=LONGEST_DAYS)
    return ("All years", Period(first_entry, last)) if first_entry >= longest else ("Ten years", Period(longest, last))


def _so_far(name: str, running: Period, known: Period | None) -> tuple[str, Period]:
    """What runs, up to the day until which it is known and by that day's name; up to today while no day of it is."""
    return so_far_title(name, running, known or running), known or running


def beside(today: date, shown: Period, car: Car | None) -> list[PeriodChip]:
    """Return the month before the one that is shown and, once it has ended, the one after; none beside other days."""
    if shown != month_of(shown.first):
        return []
    around = [month_of(shown.first - ONE_DAY), month_of(shown.last + ONE_DAY)]
    return [_month_chip(one, shown, car) for one in around if one.last < today]


def _month_chip(one: Period, shown: Period, car: Car | None) -> PeriodChip:
    words = f"{one.first:%B}" if one.first.year == shown.first.year else month(one.first)
    return PeriodChip(words, address_of(one, car), is_shown=False)


def thans_of(period: Period, shown: Period, car: Car | None) -> list[PeriodChip]:
    """Return what a month is compared with most: the months just before it, and the same month a year before.

    Of any other period, the same days a year before.
    """
    is_month = period == month_of(period.first)
    back = (1, 2, 12) if is_month else (12,)
    earlier = [Period(add_months(period.first, -count), add_months(period.last, -count)) for count in back]
    spans = [month_of(one.first) for one in earlier] if is_month else earlier
    return [_than_chip(period, one, shown, car) for one in sorted({shown, *spans}, reverse=True)]


def _than_chip(period: Period, than: Period, shown: Period, car: Car | None) -> PeriodChip:
    asked = urlencode({"than_first": than.first.isoformat(), "than_last": than.last.isoformat()})
    return PeriodChip(title_of(than), f"{address_of(period, car)}&{asked}#moved", than == shown)
