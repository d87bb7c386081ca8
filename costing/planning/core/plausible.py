"""Whether what was taken in a week can be right: by the hours taught in it, and by what other weeks brought in."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.scatter import usual_range
from fleet.core.plausible.slips import POINT, as_text, hours_as_text, undone

#: So many weeks tell what is usual.
_MOST_WEEKS = 26
#: Pence of an hour, and of a week, where no weeks tell more. Common practice, no source.
_AN_HOUR, _A_WEEK = (500, 3_500, 15_000), (0, 80_000, 400_000)
#: What is paid in a week is not just what was taught in it: people pay ahead, or late.
_FLOOR_PERCENT = 75
#: So many lessons, and minutes, are cancelled in a week at most.
_MOST_CANCELLED = 40
_MOST_CANCELLED_MINUTES = 80 * 60
#: Minutes of one lesson.
_A_LESSON = (20, 60, 240)
_PLACES = {"amount": 2, "cancelled_count": 0}
_HOUR = 60


def limits(taken_in: Mapping[date, int], minutes_in: Mapping[date, int], monday: date) -> Limits:
    """What other weeks allow of the one of ``monday``: pence taken and minutes taught, by Mondays."""
    others = sorted(other for other in taken_in if other != monday)[-_MOST_WEEKS:]
    an_hour = usual_range(_by_the_hour(others, taken_in, minutes_in), floor_percent=_FLOOR_PERCENT)
    a_week = usual_range((taken_in[other] for other in others), floor_percent=_FLOOR_PERCENT)
    return {
        "minutes": minutes_in.get(monday),
        "an_hour": list(an_hour or _AN_HOUR),
        "a_week": list(a_week or _A_WEEK),
        "has_hours": an_hour is not None,
        "has_weeks": a_week is not None,
    }


def _by_the_hour(weeks: Iterable[date], taken_in: Mapping[date, int], minutes_in: Mapping[date, int]) -> Iterator[int]:
    for monday in weeks:
        if minutes_in.get(monday):
            yield taken_in[monday] * 60 // minutes_in[monday]


def doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``amount`` in pence, ``cancelled_count`` and ``cancelled_minutes``."""
    return weigh(typed, lambda tried: list(_checks(tried, limits)), lambda: _candidates(typed), written)


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed; minutes as hours."""
    if field == "cancelled_minutes":
        return hours_as_text(value) if isinstance(value, int) else ""
    return as_text(value, _PLACES[field]) if isinstance(value, int) and field in _PLACES else str(value or "")


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    amount, minutes = typed["amount"], limits["minutes"]
    if minutes:
        low, middle, high = limits["an_hour"]
        each = amount * 60 // minutes
        reason = "takings_hour" if limits["has_hours"] else "takings_hour_new"
        figures: dict[str, int | str] = {"amount": amount, "minutes": minutes, "each": each, "usual": middle}
        yield Check("amount", reason, each, max(0, low), middle, high, ("amount",), figures)
    else:
        _, middle, high = limits["a_week"]
        reason = "takings_week" if limits["has_weeks"] else "takings_week_new"
        yield Check("amount", reason, amount, 0, middle, high, ("amount",), {"amount": amount, "usual": middle})
    if count := typed["cancelled_count"]:
        told: dict[str, int | str] = {"lessons": count}
        yield Check("cancelled_count", "cancelled_many", count, 0, 2, _MOST_CANCELLED, ("cancelled_count",), told)
    if lost := typed["cancelled_minutes"]:
        told = {"minutes": lost}
        most = _MOST_CANCELLED_MINUTES
        yield Check("cancelled_minutes", "cancelled_long", lost, 0, 120, most, ("cancelled_minutes",), told)
    if count and lost:
        both = ("cancelled_count", "cancelled_minutes")
        told = {"lessons": count, "minutes": lost, "each": lost // count}
        yield Check("cancelled_count", "cancelled_length", lost // count, *_A_LESSON, both, told)


def _candidates(typed: Typed) -> Iterator[Candidate]:
    if (lost := typed["cancelled_minutes"] or 0) and lost % _HOUR == 0:
        # Minutes typed for hours.
        yield Candidate(POINT, {"cancelled_minutes": lost // _HOUR})
    for field, places in _PLACES.items():
        if typed[field]:
            for rank, value in undone(typed[field], places):
                yield Candidate(rank, {field: value})
    for rank, hundredths in undone(lost * 100 // _HOUR, 2) if lost else ():
        yield Candidate(rank, {"cancelled_minutes": hundredths * _HOUR // 100})
