"""What a member's own records say about the days that a new cost of a car covers."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import Q, QuerySet

from costing.core import records
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES
from costing.core.cover import proposed_days, term_ends_on
from costing.core.periods import MONTHS_BETWEEN
from costing.core.repeats import next_dues
from costing.models import Agreement, CostEntry, PaymentFrequency, Repeat
from costing.queries.repeats import repeating_of
from fleet.models import Car
from instructors.models import Member


def usual_days(
    category: str,
    paid_on: date,
    by: Member,
    car: Car | None,
    cost: CostEntry | None = None,
    *,
    until_now: date | None = None,
) -> records.Period:
    """Return the days that a cost of ``car``, paid on ``paid_on`` by a member, is proposed to cover.

    ``cost`` is that cost if it is in the book already; ``until_now`` is the last day of cover that is not.
    It takes two queries at most.
    """
    row = COST_CATEGORIES[category]
    if car is None:
        return proposed_days(row, paid_on)
    ends_on = months = None
    if row.is_renewed:
        bought = CostEntry.objects.standing().filter(car=car, member=by, category=category, amount__gt=0)
        in_book = _covered_until(bought.exclude(pk=cost.pk) if cost else bought, paid_on)
        until_now = max(filter(None, [in_book, until_now]), default=None)
        months = _months_of_parts(by, [car], paid_on).get((car.pk, category))
    elif row.stays_in_car:
        ends_on = term_ends_on(_terms(car, by), paid_on)
    return proposed_days(row, paid_on, until_now, ends_on, months)


def cover_terms(member: Member, cars: Sequence[Car], today: date) -> dict[Car, dict[str, dict[str, str | int]]]:
    """Return what `usual_days` finds in the book, by car and category, for a phone to propose the same; three queries.

    ``follows`` is the last day of the cover that ran until now, ``ends`` of the agreement's term; "" if there is none.
    ``months`` is there where a cover is paid in parts: how long each lasts.
    """
    renewed = [row.name for row in ENTRY_CATEGORIES if row.is_renewed]
    staying = [row.name for row in ENTRY_CATEGORIES if row.stays_in_car]
    bought = CostEntry.objects.standing().filter(
        car__in=cars, member=member, category__in=renewed, amount__gt=0, covers_from__lte=today
    )
    follows: dict[tuple[int, str], date] = {}
    for car_id, category, *ends in bought.order_by().values_list("car_id", "category", "covers_to", "ended_on"):
        last = min(filter(None, ends))
        follows[car_id, category] = max(last, follows.get((car_id, category), last))
    terms = _terms_by_car(member, cars)
    found: dict[Car, dict[str, dict[str, str | int]]] = {}
    for car in cars:
        term = term_ends_on(terms[car], today)
        found[car] = {name: {"follows": _written(follows.get((car.pk, name)))} for name in renewed}
        found[car] |= {name: {"ends": _written(term)} for name in staying}
    by_pk = {car.pk: car for car in cars}
    for (car_id, category), months in _months_of_parts(member, cars, today).items():
        found[by_pk[car_id]][category]["months"] = months
    return found


def _written(day: date | None) -> str:
    return day.isoformat() if day else ""


def _months_of_parts(member: Member, cars: Sequence[Car], on: date) -> dict[tuple[int, str], int]:
    """Return, by car and category, how many months a payment covers of what repeats on a day and covers its days."""
    running = Q(stopped_on=None) | Q(stopped_on__gte=on)
    renewed = [row.name for row in ENTRY_CATEGORIES if row.is_renewed]
    repeats = Repeat.objects.filter(running, member=member, car__in=cars, category__in=renewed, covers_its_days=True)
    return {
        (repeat.car_id, repeat.category): MONTHS_BETWEEN[repeat.interval]
        for repeat in repeats.filter(interval__in=MONTHS_BETWEEN).order_by("pk")
        if next_dues(repeating_of(repeat), repeat.made_until, 1)
    }


def _covered_until(bought: QuerySet[CostEntry], on: date) -> date | None:
    """Return the last day of the covers that have begun by ``on``."""
    begun = bought.filter(covers_from__lte=on).order_by().values_list("covers_to", "ended_on")
    return max((min(filter(None, ends)) for ends in begun), default=None)


def _terms(car: Car, by: Member) -> Iterable[records.Agreement]:
    return _terms_by_car(by, [car])[car]


def _terms_by_car(by: Member, cars: Sequence[Car]) -> dict[Car, list[records.Agreement]]:
    found: dict[int, list[records.Agreement]] = {car.pk: [] for car in cars}
    rows = Agreement.objects.filter(car__in=cars, member=by).order_by()
    for car_id, starts_on, kind, payments, frequency in rows.values_list(
        "car_id", "starts_on", "kind", "payments", "frequency"
    ):
        every: records.Frequency = "week" if frequency == PaymentFrequency.WEEK else "month"
        found[car_id].append(records.Agreement(starts_on, kind, payments=payments or 0, frequency=every))
    return {car: found[car.pk] for car in cars}
