"""Whether the days that a cost covers can be right: after the cover before, without a gap, of a usual length."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import partial

from fleet.core.days import add_months
from fleet.core.plausible.checks import Candidate, Check
from fleet.core.plausible.doubt import Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, days_meant

#: Cover is sold by these months, as a rule, give or take so many days, or by the week up to a month.
_MONTHS, _GIVE_OR_TAKE, _BY_THE_WEEK = (1, 3, 6, 12), 6, 31
#: So many days before it begins it is paid, or so many days after. Common practice, no source.
_PAID_BEFORE, _PAID_AFTER = 62, 62
#: The old cover's last day may be the first of the new one.
_ONE_DAY_TWICE = 1

Covers = Sequence[Sequence[str]]


def days_covered(typed: Typed) -> int:
    """How many days a cost covers; none if it covers no days."""
    return days_between(typed["covers_from"], typed["covers_to"]) + 1 if typed["covers_from"] else 0


def cover_checks(typed: Typed, covers: Covers) -> Iterator[Check]:
    """The checks of days covered against the covers of the same category in the book."""
    first, last = typed["covers_from"], typed["covers_to"]
    rests_on = ("category", "covers_from", "covers_to")
    overlapping = [one for one in covers if one[0] <= last and first <= one[1]]
    twice = max((days_between(max(one[0], first), min(one[1], last)) + 1 for one in overlapping), default=0)
    before = before_of(first, covers)
    gap = days_between(before[1], first) - 1 if before and before[1] < first else 0
    figures: dict[str, int | str] = {"days": max(twice, gap), "from": first, "to": last}
    figures["until"] = overlapping[-1][1] if overlapping else before[1] if before else ""
    yield Check("covers_from", "cover_overlap", twice, 0, 0, _ONE_DAY_TWICE, rests_on, figures)
    yield Check("covers_from", "cover_gap", gap, 0, 0, 0, rests_on, figures)
    figures = {"days": days_covered(typed), "from": first, "to": last}
    yield Check("covers_to", "cover_length", _off_months(first, last), 0, 0, _GIVE_OR_TAKE, rests_on, figures)
    apart = days_between(first, typed["paid_on"])
    figures = {"days": abs(apart), "from": first, "paid": typed["paid_on"]}
    reason = "paid_before" if apart < 0 else "paid_after"
    yield Check("covers_from", reason, apart, -_PAID_BEFORE, 0, _PAID_AFTER, ("paid_on", "covers_from"), figures)


def before_of(first: str, covers: Covers) -> Sequence[str] | None:
    """The cover that ends last of those that begin before a day."""
    return max((one for one in covers if one[0] < first), key=lambda one: one[1], default=None)


def _off_months(first: str, last: str) -> int:
    """By how many days a cover misses the nearest usual length."""
    begins, ends = date.fromisoformat(first), date.fromisoformat(last)
    days = (ends - begins).days + 1
    if days <= _BY_THE_WEEK and days % 7 == 0:
        return 0
    return min(_off(begins, days, months) for months in _MONTHS)


def cover_candidates(typed: Typed, covers: Covers) -> Iterator[Candidate]:
    """The days that may be meant: right after the cover before, of a usual length, in another year."""
    first, last = typed["covers_from"], typed["covers_to"]
    begins, ends = date.fromisoformat(first), date.fromisoformat(last)
    running = max(covers, key=lambda one: one[1], default=None)
    for before in (before_of(first, covers), running):
        if before:
            begin = date.fromisoformat(before[1]) + timedelta(days=1)
            near = sorted(_MONTHS, key=partial(_off, begin, (ends - begins).days))
            for place, months in enumerate(near):
                yield _days(NEIGHBOUR if place else POINT, begin, add_months(begin, months) - timedelta(days=1))
            yield _days(NEIGHBOUR, begin, begin + (ends - begins))
    for months in sorted(_MONTHS, key=lambda months: (months != 12, months)):
        yield _days(NEIGHBOUR, begins, add_months(begins, months) - timedelta(days=1))
    for rank, meant in days_meant(begins):
        yield _days(rank, meant, ends)
        yield _days(rank, meant, meant + (ends - begins))
    for rank, meant in days_meant(ends):
        yield _days(rank, begins, meant)
    paid = date.fromisoformat(typed["paid_on"])
    yield _days(DIGIT, paid, add_months(paid, 12) - timedelta(days=1))


def _off(begins: date, days: int, months: int) -> int:
    """By how many days so many months from a day miss a number of days."""
    return abs((add_months(begins, months) - begins).days - days)


def _days(rank: int, first: date, last: date) -> Candidate:
    """Other days covered; none in the order in which nobody writes them."""
    return Candidate(rank, {"covers_from": first.isoformat(), "covers_to": max(first, last).isoformat()}, "cover")
