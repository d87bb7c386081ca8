"""Whether lessons can be right: how many a day, how long, the private miles, and what is in the book of their days.

A week of lessons and a record over a span of days are held against the same limits. What is known of teaching in
general is common practice, no source.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from costing.core.plausible.logged import (
    DAY_FIELDS,
    after,
    had_on,
    hours_field,
    is_only_private,
    lessons_of,
    logged_on,
    reaches_beyond,
)
from costing.core.records import Teaching
from fleet.core.plausible import odometer
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates, day_checks
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.scatter import FEWEST, usual_range
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, hours_as_text, undone

#: So many records are looked at, the last ones; those of so many days travel to the page.
MOST_RECORDS = 60
_DAYS_TOLD = 70
#: Lessons on a very busy day, more than anybody teaches, and by how many a member may go above their own most.
_BUSY, _MOST_LESSONS, _MORE_LESSONS = 11, 14, 4
_MOST_MINUTES_A_DAY = 15 * 60
#: Minutes of lessons on one day, those in the book with them, unless a member has taught for longer.
_LONG_DAY = 12 * 60
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


def limits(
    records: Iterable[Teaching],
    shown: Limits,
    latest: date | None,
    today: date,
    on: date | None = None,
) -> Limits:
    """What a member's standing records of lessons in one car, and what its odometer has ``shown``, allow.

    ``latest`` is the first day of the record that was logged last. What is in the book is told as far back as ``on``.
    """
    ordered = sorted(records, key=lambda one: (one.to_on, one.from_on))
    known = ordered[-MOST_RECORDS:]
    single = [one.lessons for one in known if one.from_on == one.to_on and one.lessons]
    usual = usual_range(
        (one.minutes // one.lessons for one in known if one.minutes and one.lessons), floor_percent=_LENGTH_PERCENT
    )
    since = min(today, latest or today, on or today) - timedelta(days=_DAYS_TOLD)
    return {
        "today": today.isoformat(),
        "latest": latest.isoformat() if latest else None,
        "lessons": min(_MOST_LESSONS, max(_BUSY, max(single) + _MORE_LESSONS))
        if len(single) >= FEWEST
        else _MOST_LESSONS,
        "minutes": [min(usual.low, _SHORT), usual.middle, max(usual.high, 2 * usual.middle, _LONG)]
        if usual
        else list(_LENGTHS),
        "day_minutes": min(_MOST_MINUTES_A_DAY, max(_LONG_DAY, _longest_day(known))),
        "private": _private(known),
        "days": [
            [one.from_on.isoformat(), one.to_on.isoformat(), one.lessons, one.minutes, one.private_miles]
            for one in ordered
            if one.to_on > since
        ],
        "odometer": shown,
    }


def _longest_day(records: Iterable[Teaching]) -> int:
    """The most minutes that were taught on one day."""
    by_day: dict[date, int] = defaultdict(int)
    for one in records:
        if one.from_on == one.to_on:
            by_day[one.from_on] += one.minutes or 0
    return max(by_day.values(), default=0)


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
    if is_only_private(typed, limits):
        return weigh(
            typed,
            lambda tried: list(_against_miles(tried, limits, 0)),
            lambda: _figures_meant(typed, "private_miles"),
            written,
        )
    # To add is offered whatever the sums come to: they are asked about once that is told.
    adds = typed.get("how") == "add"
    return weigh(
        typed,
        lambda tried: list(_checks(tried, limits, adds=adds and tried["how"] == "add")),
        lambda: _candidates(typed, limits) if with_meanings else (),
        written,
    )


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed; minutes as hours."""
    if field in {"minutes", "hours"} and isinstance(value, int):
        return hours_as_text(value)
    return "" if value is None else str(value)


def _checks(typed: Typed, limits: Limits, *, adds: bool) -> Iterator[Check]:
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
        logged = logged_on(typed, limits)
        taken = {"lessons": sum(one[2] or 0 for one in logged), "first": first, "last": last}
        field, reason = ("how", "week_taken") if is_week else ("from_on", "days_taken")
        if is_week and reaches_beyond(typed, logged):
            reason, taken["since"] = "week_beyond", logged[0][0]
        yield Check(field, reason, len(logged), 0, 0, 0, told, taken, not is_week)
    yield from _of_days(typed, limits, adds=adds)
    most = limits["lessons"]
    if count and "lesson_count" in typed:
        yield Check(
            *("lesson_count", "lessons_span", count, 0, days * 5, days * most), told, {"lessons": count, "days": days}
        )
    if minutes:
        most_minutes = days * _MOST_MINUTES_A_DAY
        figures: dict[str, int | str] = {"minutes": minutes, "days": days}
        if days > 1:
            yield Check(hours, "hours_span", minutes, 0, days * 6 * 60, most_minutes, told, figures)
        if count:
            least, middle, longest = limits["minutes"]
            figures = {"minutes": minutes, "lessons": count, "each": minutes // count, "usual": middle}
            yield Check(hours, "lesson_length", minutes // count, least, middle, longest, told, figures)
    yield from _against_miles(typed, limits, count or 0)


def _of_days(typed: Typed, limits: Limits, *, adds: bool) -> Iterator[Check]:
    """The checks of each day by itself, with what is in the book of it if that stays."""
    is_week, count, minutes = "how" in typed, lessons_of(typed), typed[hours_field(typed)]
    if not is_week:
        if typed["from_on"] == typed["to_on"]:
            yield _hours_check(
                "minutes", minutes or 0, had_on(typed["from_on"], limits), limits, ("from_on", "minutes")
            )
        return
    if minutes is None:
        minutes = (count or 0) * limits["minutes"][1]
    for number, name in enumerate(DAY_FIELDS):
        if lessons := typed[name]:
            had = had_on(after(typed["from_on"], number), limits) if adds else (0, 0)
            in_all = lessons + had[0]
            reason = "lessons_day_sum" if had[0] else "lessons_day"
            yield Check(name, reason, in_all, 0, 5, limits["lessons"], (name,), {"lessons": in_all})
            yield _hours_check(name, minutes * lessons // (count or 1), had, limits, (name, "hours"))


def _hours_check(field: str, minutes: int, had: tuple[int, int], limits: Limits, rests_on: tuple[str, ...]) -> Check:
    in_all = minutes + had[1]
    reason = "hours_day_sum" if had[1] else "hours_day"
    return Check(field, reason, in_all, 0, 6 * 60, limits["day_minutes"], rests_on, {"minutes": in_all})


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


def _candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    logged, hours = logged_on(typed, limits), hours_field(typed)
    count, minutes, is_week = lessons_of(typed), typed[hours], "how" in typed
    is_same = sum(one[2] or 0 for one in logged) == count
    if logged and not typed.get("how"):
        if is_week:
            # Days whose own lessons are typed anew are put right. A longer record cannot be replaced from here: its
            # other days would be lost.
            if not reaches_beyond(typed, logged):
                yield Candidate(POINT, {"how": "replace"}, "week_replace")
            # The same lessons again are hardly more of them: hours or private miles were left out the first time.
            yield Candidate(DIGIT if is_same else POINT, {"how": "add"}, "week_add")
        if is_same:
            yield Candidate(DIGIT, {"leave_out": "on"}, "leave_out")
    if logged and typed.get("how") == "add" and not reaches_beyond(typed, logged):
        yield Candidate(POINT, {"how": "replace"}, "week_replace")
    if minutes:
        for rank, hundredths in undone(minutes * 100 // 60, 2):
            yield Candidate(rank, {hours: hundredths * 60 // 100})
        counts = [field for field in _count_fields(typed) if typed[field]]
        if len(counts) == 1 and count and minutes % 60 == 0:
            yield Candidate(POINT, {counts[0]: minutes // 60, hours: count * 60}, "swap_lessons")
        if count:
            yield Candidate(NEIGHBOUR, {hours: count * limits["minutes"][1]})
    for field in (*_count_fields(typed), "private_miles"):
        yield from _figures_meant(typed, field)
    if is_week:
        return
    first, last = typed["from_on"], typed["to_on"]
    for days in (-7, 7):
        if after(last, days) <= limits["today"]:
            yield Candidate(NEIGHBOUR, {"from_on": after(first, days), "to_on": after(last, days)}, "other_days")
    for one in day_candidates(typed, limits, "from_on"):
        meant = one.changes["from_on"]
        moved = after(last, odometer.days_between(first, str(meant)))
        if moved <= limits["today"]:
            yield Candidate(one.rank, {"from_on": meant, "to_on": moved}, "other_days")


def _figures_meant(typed: Typed, field: str) -> Iterator[Candidate]:
    if typed[field]:
        for rank, value in undone(typed[field], 0):
            yield Candidate(rank, {field: value})
