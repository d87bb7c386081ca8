"""How a sum is spread over what it pays for, and how much of it falls into a period, in words."""

from datetime import date
from typing import Protocol

from config.showing import pence_as_pounds, whole
from costing.core.catalogue.costs import INSTALMENT_CATEGORIES
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import Cost, Fill, Period
from costing.core.shares import ByDays


class Covering(Protocol):
    """Whatever says what a cost pays for: its entry in the book, or its record."""

    @property
    def covers_from(self) -> date | None: ...
    @property
    def covers_to(self) -> date | None: ...
    @property
    def covers_miles(self) -> int | None: ...


def spread_of(cost: Covering) -> str:
    """Say what a cost is spread over: "over 365 days", "over 25,000 miles"; nothing if it counts on one day."""
    if cost.covers_from and cost.covers_to:
        days = days_in(Period(cost.covers_from, cost.covers_to))
        return f"over {whole(days)} day{'' if days == 1 else 's'}"
    return f"over {whole(cost.covers_miles)} miles" if cost.covers_miles else ""


def shared_into(record: Cost | Fill, pence: int, period: Period) -> str:
    """Say by which rule ``pence`` of a sum fall into a period: "£911.37 over 365 days, 28 of them here".

    It is empty where all of the sum does.
    """
    if pence == record.pence:
        return ""
    paid = pence_as_pounds(record.pence)
    if isinstance(record, Fill):
        return f"{paid} for the days since the fill before"
    if record.category in INSTALMENT_CATEGORIES:
        return "the agreement says what it costs by the day"
    spread = f"{paid} {spread_of(record)}"
    if record.covers_from and record.covers_to:
        return _by_days(spread, record.pence, Period(record.covers_from, record.covers_to), pence, period)
    if record.covers_miles:
        return f"{spread}, as far as it was driven then" if pence else f"{spread}, none of them here"
    return f"{paid} counts on a day on which you had the car"


def _by_days(spread: str, whole_sum: int, covered: Period, pence: int, period: Period) -> str:
    here = overlap(covered, period)
    by_days = ByDays(*covered, whole_sum)
    if here and by_days.by(here.last) - by_days.by(here.first - ONE_DAY) == pence:
        return f"{spread}, {whole(days_in(here))} of them here"
    return f"{spread}, and what was left of it when it ended" if pence else f"{spread}, none of them here"
