"""What a member's own records of a car allow of the next: a few bounded queries, made when something is sent."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, TypeVar, cast

from django.db.models import QuerySet

from costing.core import records
from costing.core.catalogue.running import BREAKDOWN, INSURANCE
from costing.core.plausible import cost, fill, valuation, week
from costing.models import Agreement, CostEntry, Entry, Fill, TeachingRecord, Valuation
from costing.queries.book_rows import last_fills
from costing.queries.figures import running_figures
from costing.queries.repeats import Awaited, awaited_near
from fleet.core.odometer import Reading
from fleet.core.plausible import odometer
from fleet.core.plausible.days import FIRST_BACK
from fleet.core.plausible.doubt import Limits
from fleet.models import Car
from fleet.queries import raw_readings_of
from instructors.models import Member
from instructors.queries import cooperative

AnyEntry = TypeVar("AnyEntry", bound=Entry)

#: Readings of so many days are looked at.
_READINGS_OF = timedelta(days=200)
_A_WEEK = timedelta(days=7)


def limits_of(kind: str, by: Member, car: Car, today: date, on: date, ignoring: Entry | None = None) -> Limits:
    """Return what ``by``'s records of a car allow of a kind of entry on a day.

    ``ignoring`` is the entry that is being corrected: it says nothing of itself.
    """
    if kind == "cost":
        lately = _lately(CostEntry, by, car, ignoring, "-paid_on")
        costs = list(lately[: cost.MOST_COSTS])
        covers = lately.filter(covers_to__isnull=False)[: cost.MOST_COVERS]
        known = {one.pk: one for one in (*costs, *covers)}
        awaited = () if ignoring else map(_awaited_of, awaited_near(by, car, on))
        latest = _latest(costs, "paid_on")
        limits = cost.limits(map(_cost_of, known.values()), latest, today, group_sums(), awaited=awaited)
        return limits | _first(costs, today)
    if kind == "fill":
        fills = last_fills(car.pk, by.pk, fill.MOST_FILLS, ignoring.pk if ignoring else 0)
        read = _readings(by, car, today, on, ignoring, fills)
        shown = odometer.limits(read)
        latest = max(fills, key=lambda one: one.key or 0).filled_on if fills else None
        limits = fill.limits(fills, shown, car.fuel, latest, today)
        return limits | _first(fills, today)
    lessons = _lately(TeachingRecord, by, car, ignoring, "-to_on")
    taught = list(lessons[: week.MOST_RECORDS])
    latest = _latest(taught, "from_on")
    if len(taught) == week.MOST_RECORDS and on <= taught[-1].to_on:
        # Of a week of long ago, what is in the book of its days.
        of_days = lessons.filter(from_on__lt=on + _A_WEEK, to_on__gte=on)
        taught += of_days.exclude(pk__in=[one.pk for one in taught])
    read = _readings(by, car, today, on, None, ())
    return week.limits(map(_lessons_of, taught), odometer.limits(read), latest, today, on)


def group_sums() -> dict[str, int]:
    """The group's rounded medians of what is renewed, in pence a year; vehicle tax and the MOT's fee are the law's."""
    group = running_figures(cooperative().minimum_contributors)
    medians = group.medians if group else {}
    return {part.category.name: int(medians[part.key] * 100) for part in (INSURANCE, BREAKDOWN) if part.key in medians}


def worth_limits(by: Member, car: Car, on: date, today: date, ignoring: Valuation | None = None) -> Limits:
    """Return what ``by``'s agreement and valuations of a car allow of another one on a day."""
    priced = Agreement.objects.filter(member=by, car=car, price__isnull=False, starts_on__lte=on).order_by("starts_on")
    last = priced.last()
    price = (last.starts_on, int(last.price * 100)) if last and last.price is not None else None
    others = Valuation.objects.filter(member=by, car=car)
    others = others.exclude(pk=ignoring.pk) if ignoring else others
    return valuation.limits(price, [(one.valued_on, int(one.value * 100)) for one in others], today)


def _lately(model: type[AnyEntry], by: Member, car: Car, ignoring: Entry | None, order: str) -> QuerySet[AnyEntry]:
    found = model._default_manager.filter(voided_at__isnull=True, member=by, car=car).order_by(order, "-pk")
    return cast("QuerySet[AnyEntry]", found.exclude(pk=ignoring.pk) if ignoring else found)


def _latest(entries: Sequence[Any], field: str) -> date | None:
    """The day of the entry that was logged last."""
    last = max(entries, key=lambda entry: entry.pk, default=None)
    return getattr(last, field) if last else None


def _first(entries: Sequence[Any], today: date) -> Limits:
    """From when on the first entry of all is likely to be; nothing for a later one."""
    return {} if entries else {"first": (today - timedelta(days=FIRST_BACK)).isoformat()}


def _readings(
    by: Member, car: Car, today: date, on: date, ignoring: Entry | None, fills: Sequence[Any]
) -> list[Reading]:
    """The car's readings; of a car handed over only those of the member's own fills: the others are somebody else's."""
    if car.keeper_id != by.pk:
        return [Reading(one.filled_on, one.odometer) for one in fills]
    found = raw_readings_of([car.pk], since=min(on, today - _READINGS_OF))[car.pk]
    if isinstance(ignoring, Fill) and (own := Reading(ignoring.filled_on, ignoring.odometer)) in found:
        found.remove(own)
    return found


def _cost_of(entry: CostEntry) -> records.Cost:
    days = entry.covers_from, entry.covers_to
    pence = int(entry.amount * 100)
    return records.Cost(entry.paid_on, entry.category, pence, *days, ended_on=entry.ended_on, key=entry.pk)


def _awaited_of(one: Awaited) -> cost.Awaited:
    return cost.Awaited(one.due.on, one.repeat.category, one.due.amount, one.ref)


def _lessons_of(entry: TeachingRecord) -> records.Teaching:
    return records.Teaching(entry.from_on, entry.to_on, entry.lesson_count, entry.minutes, entry.private_miles)
