"""What two of the made-up instructors took for their lessons, week by week, and what one of them plans to charge."""

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from config.history import save_as
from costing.core.week import DAYS, monday_of
from costing.demo.cast import COORDINATOR, MEMBER, Instructor
from costing.demo.condition import Write
from costing.demo.teaching import LESSON_HOURS
from costing.models import ChargePlan
from instructors.models import Member

#: Pounds an hour. The member has yet to tell last week.
_PRICES = {COORDINATOR: 42, MEMBER: 41}


def write_takings(write: Write, who: Instructor, lessons: Mapping[date, int], today: date) -> None:
    """Write an instructor's takings of each week that has ended, from the lessons that began in it."""
    if who.email not in _PRICES:
        return
    chance = Random(who.email)  # noqa: S311 - made-up figures, not secrets
    by_monday: dict[date, int] = {}
    for day, count in lessons.items():
        by_monday[monday_of(day)] = by_monday.get(monday_of(day), 0) + count
    for monday, count in by_monday.items():
        sunday = monday + timedelta(days=DAYS - 1)
        if sunday >= today - timedelta(days=DAYS if who.email == MEMBER else 0):
            continue
        cancelled = chance.choice((0, 0, 1, 1, 2, 3)) if count else 0
        write(
            "takings",
            member_email=who.email,
            from_on=monday,
            to_on=sunday,
            amount=f"{round(count * LESSON_HOURS * _PRICES[who.email] * chance.uniform(0.94, 1.03))}.00",
            cancelled_lessons=cancelled or "",
            cancelled_hours=f"{cancelled * LESSON_HOURS:.2f}" if cancelled else "",
        )


def make_plan(member: Member) -> None:
    """Save what the member charges, teaches and wants."""
    plan = ChargePlan(
        member=member,
        lesson_hour_price=Decimal(_PRICES[MEMBER]),
        hours_a_week=Decimal(30),
        weeks_a_year=Decimal(46),
        wanted=Decimal(720),
        other_costs=Decimal(22),
    )
    save_as(member, plan, reason="Saved")
