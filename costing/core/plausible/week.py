"""Whether lessons can be right: how many a day, how long, the private miles, and what is in the book of their days.

A week of lessons and a record over a span of days are held against the same limits. What is known of teaching in
general is common practice, no source.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

from costing.core.records import Teaching
from fleet.core.odometer import Reading
from fleet.core.plausible import odometer
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates, day_checks
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.scatter import FEWEST, usual_range
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, as_text, undone

#: So many records are looked at, the last ones; those of so many days travel to the page.
MOST_RECORDS = 60
_DAYS_TOLD = 70
#: Lessons on a very busy day, more than anybody teaches, and by how many a member may go above their own most.
_BUSY, _MOST_LESSONS, _MORE_LESSONS = 11, 14, 4
_MOST_MINUTES_A_DAY = 15 * 60
#: Minutes that a lesson takes, where nothing is known; else from so little of a member's usual length to twice that.
_LENGTHS = (40, 60, 150)
#: An hour's lesson is usual for anybody, whatever they teach mostly.
_SHORT, _LONG = 50, 150
_LENGTH_PERCENT = 30
#: Private miles may be above the miles that the car ran by so many: a reading is not of the day's end.
_PRIVATE_MORE = 50
#: Private miles on a long day out, which anybody has now and then; and in a week, beside so many times a member's most.
_PRIVATE_DAY, _PRIVATE_WEEK, _PRIVATE_TIMES, _FEWEST_WEEKS = 450, 350, 5, 4
#: Miles a day of a car of which nothing is known.
_TENTHS_A_DAY = 1_500
DAY_FIELDS = tuple(f"day_{number}" for number in range(7))


def limits(records: Iterable[Teaching], readings: Iterable[Reading], latest: date | None, today: date) -> Limits:
    """What a member's standing records of lessons in one car, and its readings, allow.

    ``latest`` is the first day of the record that was logged last.
    """
    known = sorted(records, key=lambda one: (one.to_on, one.from_on))[-MOST_RECORDS:]
    single = [one.lessons for one in known if one.from_on == one.to_on and one.lessons]
    usual = usual_range(
        (one.minutes // one.lessons for one in known if one.minutes and one.lessons), floor_percent=_LENGTH_PERCENT
    )
    since = min(today, latest or today) - timedelta(days=_DAYS_TOLD)
    return {
        "today": today.isoformat(),
        "latest": latest.isoformat() if latest else None,
        "lessons": min(_MOST_LESSONS, max(_BUSY, max(single) + _MORE_LESSONS))
        if len(single) >= FEWEST
        else _MOST_LESSONS,
        "minutes": [min(usual.low, _SHORT), usual.middle, max(usual.high, 2 * usual.middle, _LONG)]
        if usual
        else list(_LENGTHS),
        "private": _private(known),
        "days": [
            [one.from_on.isoformat(), one.to_on.isoformat(), one.lessons, one.minutes]
            for one in known
            if one.to_on > since
        ],
        "odometer": odometer.limits(readings),
    }


def _private(records: Iterable[Teaching]) -> int:
    """The private miles that a member may run in a week at the most, by the weeks before; 0 where too few are known."""
    weeks: dict[int, int] = defaultdict(int)
    for one in records:
        if one.private_miles is not None:
            weeks[(one.from_on.toordinal() - 1) // 7] += one.private_miles
    return max(_PRIVATE_WEEK, _PRIVATE_TIMES * max(weeks.values())) if len(weeks) >= _FEWEST_WEEKS else 0


def doubts(typed: Typed, limits: Limits, *, with_meanings: bool = True) -> list[Doubt]:
    """What may be wrong with lessons from ``from_on`` to ``to_on``.

    A record of several days has their ``lesson_count`` and ``minutes``. A week has ``day_0`` to ``day_6`` from
    ``from_on`` on, None for a day that is not told, ``hours`` in minutes, and ``how``: "add" to what is logged of these
    days, "replace" it, or "" while that is not told. ``private_miles`` are of all days.
    """
    return weigh(
        typed,
        lambda tried: list(_checks(tried, limits)),
        lambda: _candidates(typed, limits) if with_meanings else (),
        written,
    )


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed; minutes as hours."""
    if field in {"minutes", "hours"} and isinstance(value, int):
        return f"{value // 60}:{value % 60:02}" if value * 100 % 60 else as_text(value * 100 // 60, 2)
    return "" if value is None else str(value)


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if typed.get("leave_out"):
        return
    is_week, hours = "how" in typed, hours_field(typed)
    if not is_week:
        yield from day_checks(typed, limits, "from_on")
    count, minutes = lessons_of(typed), typed[hours]
    first, last = typed["from_on"], typed["to_on"]
    days = odometer.days_between(first, last) + 1
    told = ("from_on", "to_on", hours, *_count_fields(typed))
    if not typed.get("how"):
        logged = _logged(typed, limits)
        taken = {"lessons": sum(one[2] or 0 for one in logged), "first": first, "last": last}
        field, reason = ("how", "week_taken") if is_week else ("from_on", "days_taken")
        if is_week and _reaches_beyond(typed, logged):
            reason, taken["since"] = "week_beyond", logged[0][0]
        yield Check(field, reason, len(logged), 0, 0, 0, told, taken, not is_week)
    most = limits["lessons"]
    for field in (one for one in DAY_FIELDS if typed.get(one)):
        figures: dict[str, int | str] = {"lessons": typed[field]}
        yield Check(field, "lessons_day", typed[field], 0, 5, most, (field,), figures)
    if count and "lesson_count" in typed:
        yield Check(
            *("lesson_count", "lessons_span", count, 0, days * 5, days * most), told, {"lessons": count, "days": days}
        )
    if minutes:
        most_minutes = days * _MOST_MINUTES_A_DAY
        figures = {"minutes": minutes, "days": days}
        yield Check(
            hours, "hours_day" if days == 1 else "hours_span", minutes, 0, days * 6 * 60, most_minutes, told, figures
        )
        if count:
            least, middle, longest = limits["minutes"]
            figures = {"minutes": minutes, "lessons": count, "each": minutes // count, "usual": middle}
            yield Check(hours, "lesson_length", minutes // count, least, middle, longest, told, figures)
    yield from _against_miles(typed, limits, count or 0)


def lessons_of(typed: Typed) -> int | None:
    """The lessons of all days; None if they are not told."""
    by_day = [typed[field] for field in DAY_FIELDS if typed.get(field) is not None]
    return sum(by_day) if by_day else typed.get("lesson_count")


def hours_field(typed: Typed) -> str:
    """The field that has the minutes taught."""
    return "hours" if "hours" in typed else "minutes"


def _count_fields(typed: Typed) -> tuple[str, ...]:
    return tuple(field for field in (*DAY_FIELDS, "lesson_count") if field in typed)


def _against_miles(typed: Typed, limits: Limits, count: int) -> Iterator[Check]:
    """The checks against the miles that the car ran on these days, if readings around them tell."""
    first, last = typed["from_on"], typed["to_on"]
    readings = limits["odometer"]["readings"]
    before = [one[1] for one in readings if one[0] < first]
    after = [one[1] for one in readings if one[0] >= last]
    private, days = typed["private_miles"], odometer.days_between(first, last) + 1
    if private:
        most = _PRIVATE_DAY + (limits["odometer"]["tenths_a_day"] or _TENTHS_A_DAY) * days // 10
        if limits["private"]:
            most = min(most, limits["private"] * ((days + 6) // 7))
        told: dict[str, int | str] = {"private": private}
        yield Check("private_miles", "private_far", private, 0, 0, most, ("private_miles", "from_on"), told)
    if not before or not after:
        return
    ran = after[0] - before[-1]
    figures: dict[str, int | str] = {"ran": ran, "lessons": count, "private": private or 0}
    if private:
        yield Check(
            "private_miles", "private_much", private, 0, 0, ran + _PRIVATE_MORE, ("private_miles", "from_on"), figures
        )
    if count:
        yield Check("from_on", "stood_still", ran, count, 20 * count, FAR, ("from_on", "to_on"), figures)


def _logged(typed: Typed, limits: Limits) -> list[list[Any]]:
    """The records of lessons on the days that are told, as [first, last, lessons, minutes]; none of no lessons."""
    first, last = typed["from_on"], typed["to_on"]
    records = [one for one in limits["days"] if one[0] <= last and first <= one[1]]
    if "how" in typed:
        told = [(_after(first, number), typed[field]) for number, field in enumerate(DAY_FIELDS) if field in typed]
        return [
            one
            for one in records
            if any(one[0] <= day <= one[1] and (lessons or one[2] != 0) for day, lessons in told if lessons is not None)
        ]
    return [one for one in records if one[2] != 0 and (typed["lesson_count"] or typed["minutes"])]


def _reaches_beyond(typed: Typed, logged: list[list[Any]]) -> bool:
    """Whether a record has days that are not told."""
    told = [_after(typed["from_on"], number) for number, name in enumerate(DAY_FIELDS) if typed.get(name) is not None]
    return any(
        odometer.days_between(first, last) + 1 > sum(first <= day <= last for day in told) for first, last, *_ in logged
    )


def _after(day: str, days: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=days)).isoformat()


def _candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    logged, hours = _logged(typed, limits), hours_field(typed)
    count, minutes, is_week = lessons_of(typed), typed[hours], "how" in typed
    is_same = sum(one[2] or 0 for one in logged) == count
    if logged and not typed.get("how"):
        if is_week:
            # Days whose own lessons are typed anew are put right. A longer record cannot be replaced from here: its
            # other days would be lost.
            if not _reaches_beyond(typed, logged):
                yield Candidate(POINT, {"how": "replace"}, "week_replace")
            # The same lessons again are hardly more of them: hours or private miles were left out the first time.
            yield Candidate(DIGIT if is_same else POINT, {"how": "add"}, "week_add")
        if is_same:
            yield Candidate(DIGIT, {"leave_out": "on"}, "leave_out")
    if minutes:
        for rank, hundredths in undone(minutes * 100 // 60, 2):
            yield Candidate(rank, {hours: hundredths * 60 // 100})
        counts = [field for field in _count_fields(typed) if typed[field]]
        if len(counts) == 1 and count and minutes % 60 == 0:
            yield Candidate(POINT, {counts[0]: minutes // 60, hours: count * 60}, "swap_lessons")
        if count:
            yield Candidate(NEIGHBOUR, {hours: count * limits["minutes"][1]})
    for field in (*_count_fields(typed), "private_miles"):
        if typed[field]:
            for rank, value in undone(typed[field], 0):
                yield Candidate(rank, {field: value})
    if is_week:
        return
    first, last = typed["from_on"], typed["to_on"]
    for days in (-7, 7):
        if _after(last, days) <= limits["today"]:
            yield Candidate(NEIGHBOUR, {"from_on": _after(first, days), "to_on": _after(last, days)}, "other_days")
    for one in day_candidates(typed, limits, "from_on"):
        meant = one.changes["from_on"]
        moved = _after(last, odometer.days_between(first, str(meant)))
        if moved <= limits["today"]:
            yield Candidate(one.rank, {"from_on": meant, "to_on": moved}, "other_days")
