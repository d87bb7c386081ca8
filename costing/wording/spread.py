"""How a sum is spread over what it pays for, and how much of it falls into a period, in words."""

from collections.abc import Iterator
from datetime import date
from typing import Protocol

from config.showing import day, pence_as_pounds, whole
from costing.core.catalogue.costs import INSTALMENT_CATEGORIES, INSURANCE
from costing.core.ends import NOTHING, Shifted
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


def shared_into(record: Cost | Fill, pence: int, period: Period, moved: Shifted, in_service_to: date | None) -> str:
    """Say by which rule ``pence`` of a sum fall into a period: "£911.37 over 365 days, 28 of them here".

    It is empty where all of the sum does, on its own days. ``moved`` is what of it counts on another day than its own,
    and ``in_service_to`` the car's last day in service.
    """
    is_plain = isinstance(record, Fill) or moved == NOTHING
    if is_plain and pence == record.pence:
        return ""
    paid = pence_as_pounds(record.pence)
    if isinstance(record, Fill):
        return f"{paid} for the days since the fill before"
    if record.category in INSTALMENT_CATEGORIES:
        return "the agreement says what it costs by the day"
    spread = spread_of(record)
    if not spread:
        return _on_another_day(moved, in_service_to) or f"{paid} counts on a day on which you had the car"
    parts = list(_parts(record, pence, period, moved, in_service_to))
    told = " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else parts[0]
    return f"{paid} {spread}, {told}"


def _on_another_day(moved: Shifted, in_service_to: date | None) -> str:
    """Why a sum that covers nothing counts on another day than that on which it was paid."""
    if moved.begun_on:
        return f"paid while you did not have the car, so it counts on {day(moved.begun_on)}"
    if moved.ended_on is None:
        return ""
    end = "the car’s last day in service" if moved.ended_on == in_service_to else "your last day with the car"
    return f"paid after {end}, {day(moved.ended_on)}, so it counts on that day"


def _parts(record: Cost, pence: int, period: Period, moved: Shifted, in_service_to: date | None) -> Iterator[str]:
    """What the pence of a sum that covers something are for, each with its own sum where there are several."""
    own = pence - moved.before - moved.rest
    if own or not pence:
        yield _own_part(record, own, period, moved)
    if moved.before:
        noun = "miles" if record.covers_miles else "days"
        yield f"{_of(moved.before, pence)} {noun} while you did not have the car"
    if moved.ended_on:
        yield f"{_left(moved.rest, pence)} of it when {_end_of(record, moved.ended_on, in_service_to)}"


def _of(part: int, pence: int) -> str:
    return "for" if part == pence else f"{pence_as_pounds(part)} for"


def _left(rest: int, pence: int) -> str:
    return "what was left" if rest == pence else f"{pence_as_pounds(rest)} that was left"


def _end_of(record: Cost, ended_on: date, in_service_to: date | None) -> str:
    """What ended on the day on which the rest of a sum counts."""
    if ended_on == record.ended_on:
        what = "the policy" if record.category == INSURANCE.name else "it"
        return f"{what} ended on {day(ended_on)}"
    if ended_on == in_service_to:
        return f"the car left service on {day(ended_on)}"
    return f"you handed the car over on {day(ended_on)}"


def _own_part(record: Cost, own: int, period: Period, moved: Shifted) -> str:
    """How much of what a sum covers falls on days of the period on which it counts by itself."""
    if not own:
        return "none of them here"
    if not (record.covers_from and record.covers_to):
        return "for the miles driven in these days"
    counted = Period(max(period.first, moved.begun_on or period.first), min(period.last, moved.ended_on or period.last))
    here = overlap(Period(record.covers_from, record.covers_to), counted)
    by_days = ByDays(record.covers_from, record.covers_to, record.pence)
    if here and by_days.by(here.last) - by_days.by(here.first - ONE_DAY) == own:
        return f"{whole(days_in(here))} of them here"
    return "those here on which you had the car"
