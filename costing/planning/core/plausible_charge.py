"""Whether what is planned to be charged can be right: by what was taken an hour, and by the plan before."""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.planning.core.charging import WEEKS_OF_A_YEAR
from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.slips import DIGIT, POINT, as_text, undone

#: Pence of a lesson hour where nothing tells more. Common practice, no source.
_AN_HOUR = (1_000, 3_800, 15_000)
#: How many times the price of the plan before is asked about, more or less; and sums of a week.
_TIMES, _TIMES_A_WEEK = 2, 4
#: Pence of a week at most where no plan was before. Common practice, no source.
_A_WEEK = {"wanted": 300_000, "other_costs": 50_000, "car_a_week": 60_000}
#: Hundredths of the hours that are taught in a week where the book has none, of the weeks that are taught in a year,
#: and of the pence that fuel, tyres and service come to a mile. Common practice, no source.
_HOURS, _WEEKS, _PENCE_A_MILE = (0, 2_500, 6_000), (3_200, 4_600, 5_200), (300, 1_300, 6_000)
#: Hundredths from which a figure has two digits before its point.
_TWO_DIGITS = 1_000
#: How many times the pence a mile of the book are asked about, more or less.
_TIMES_A_MILE = 4


class OfBook(NamedTuple):
    """What the book has: hundredths of the hours taught in a year, and of the pence a mile; None if unknown."""

    hours: int | None = None
    mile: int | None = None


def limits(before: Mapping[str, int | None], taken: tuple[int, int, int] | None, of_book: OfBook) -> Limits:
    """What the plan ``before``, the usual range of what was ``taken`` an hour, and the book allow; None if unknown.

    The first two are in pence.
    """
    price = before.get("lesson_hour_price")
    if taken:
        low, middle, high = max(0, taken[0]), taken[1], taken[2]
        # A price that was found right may rise a little.
        an_hour = [min(low, price * 3 // 4), middle, max(high, price * 5 // 4)] if price else [low, middle, high]
        reason = "charge_taken"
    elif price:
        an_hour, reason = [price // _TIMES, price, price * _TIMES], "charge_before"
    else:
        an_hour, reason = list(_AN_HOUR), "charge_new"
    return {"an_hour": an_hour, "reason": reason, "before": {name: before.get(name) for name in _A_WEEK}} | {
        "hours": of_book.hours,
        "mile": of_book.mile,
    }


def doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``lesson_hour_price``, ``wanted``, ``other_costs`` and ``car_a_week`` in pence, and with
    ``hours_a_week``, ``weeks_a_year`` and ``car_pence_a_mile`` in hundredths. None is not asked about, nor is
    nought but as a price.
    """
    return weigh(typed, lambda tried: list(_checks(tried, limits)), lambda: _candidates(typed), written)


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    return as_text(value, 2) if isinstance(value, int) else value or ""


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if (price := typed["lesson_hour_price"]) is not None:
        low, middle, high = limits["an_hour"]
        figures: dict[str, int | str] = {"price": price, "usual": middle}
        rests_on = ("lesson_hour_price",)
        yield Check("lesson_hour_price", limits["reason"], price, max(1, low), middle, high, rests_on, figures)
    for field, most in _A_WEEK.items():
        if sum_a_week := typed[field]:
            yield _week_check(field, sum_a_week, limits["before"][field], most)
    if hours := typed["hours_a_week"]:
        yield _hours_check(hours, _in_a_week(limits["hours"], typed["weeks_a_year"]))
    if weeks := typed["weeks_a_year"]:
        yield Check("weeks_a_year", "weeks_few", weeks, *_WEEKS, ("weeks_a_year",), {"weeks": as_text(weeks, 2)})
    if pence := typed["car_pence_a_mile"]:
        yield _mile_check(pence, limits["mile"])


def _hours_check(hours: int, usual: int | None) -> Check:
    figures: dict[str, int | str] = {"minutes": hours * 60 // 100}
    if not usual:
        return Check("hours_a_week", "hours_many", hours, *_HOURS, ("hours_a_week",), figures)
    figures["usual"] = usual * 60 // 100
    rests_on = ("hours_a_week", "weeks_a_year")
    return Check("hours_a_week", "hours_book", hours, usual // 2, usual, usual * 3 // 2, rests_on, figures)


def _in_a_week(hours_a_year: int | None, weeks: int | None) -> int | None:
    """Hundredths of the hours of each of so many hundredths of ``weeks``, to the tenth as the page shows them."""
    in_weeks = Fraction(weeks, 100) if weeks else WEEKS_OF_A_YEAR
    return hours_a_year and 10 * divide_half_up(hours_a_year / in_weeks, 10)


def _mile_check(pence: int, usual: int | None) -> Check:
    figures: dict[str, int | str] = {"typed": as_text(pence, 2), "usual": as_text(usual or 0, 2)}
    low, middle, high = (usual // _TIMES_A_MILE, usual, usual * _TIMES_A_MILE) if usual else _PENCE_A_MILE
    reason = "mile_book" if usual else "mile_new"
    return Check("car_pence_a_mile", reason, pence, low, middle, high, ("car_pence_a_mile",), figures)


def _week_check(field: str, pence: int, before: int | None, most: int) -> Check:
    if before:
        low, middle, high = before // _TIMES_A_WEEK, before, before * _TIMES_A_WEEK
    else:
        low, middle, high = 0, most // 5, most
    figures: dict[str, int | str] = {"sum": pence, "usual": middle}
    return Check(field, f"{field}_{'before' if before else 'new'}", pence, low, middle, high, (field,), figures)


def _candidates(typed: Typed) -> Iterator[Candidate]:
    hours, weeks = typed["hours_a_week"], typed["weeks_a_year"]
    if hours and weeks and 100 <= hours <= _WEEKS[-1]:
        yield Candidate(POINT, {"hours_a_week": weeks, "weeks_a_year": hours}, "swap_weeks")
    for field in ("lesson_hour_price", *_A_WEEK, "hours_a_week", "weeks_a_year", "car_pence_a_mile"):
        for rank, value in undone(typed[field], 2) if typed[field] else ():
            # To one digit any other can be put: that would be a guess, no slip.
            if rank < DIGIT or typed[field] >= _TWO_DIGITS:
                yield Candidate(rank, {field: value})
