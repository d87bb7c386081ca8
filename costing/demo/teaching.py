"""The lessons of the made-up book: a whole week at once at first, and day by day since the page of weeks is there."""

from datetime import date, timedelta

from costing.demo.condition import Write

#: How long ago the co-op began to log each day.
BY_DAY = timedelta(weeks=9)
WEEK = 7
SUNDAY = 7
LESSON_HOURS = 1.25


def write_lessons(log: Write, first: date, lessons: int, private_miles: int, today: date) -> None:
    """Write the lessons of the week from ``first`` on, and its private miles. A Sunday is known to have had none."""
    days = [first + timedelta(days=day) for day in range(WEEK)]
    if first < today - BY_DAY or not lessons:
        _write(log, first, days[-1], lessons, private_miles)
        return
    taught = [day for day in days if day.isoweekday() != SUNDAY]
    for at, day in enumerate(days):
        given = _share(lessons, taught.index(day), len(taught)) if day in taught else 0
        _write(log, day, day, given, _share(private_miles, at, WEEK))


def _share(whole: int, at: int, days: int) -> int:
    """What falls on one of ``days``: the first ones take what is left over."""
    return whole // days + (at < whole % days)


def _write(log: Write, first: date, last: date, lessons: int, miles: int) -> None:
    hours = f"{lessons * LESSON_HOURS:.2f}"
    log("teaching", from_on=first, to_on=last, lessons=lessons, hours=hours, private_miles=miles)
