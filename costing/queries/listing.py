"""A member's own entries as the pages list them, and their agreements and valuations."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from django.core.paginator import Page, Paginator
from django.db.models import BooleanField, Case, CharField, Count, F, IntegerField, Max, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Cast, TruncMonth
from django.shortcuts import get_object_or_404

from costing.core.money import to_pence
from costing.models import Agreement, BatchKind, CostEntry, Entry, Fill, Receipt, TeachingRecord, Valuation
from costing.queries.entries import ENTRY_DAYS, ENTRY_MODELS
from costing.queries.search import Search
from fleet.models import Car
from instructors.models import Member

PAGE_LENGTH = 25

_KEYS = ("kind", "key", "day", "miles", "is_full", "logged_at")
#: What puts two fills of one day in order, and stands in for it in tables that have no such thing.
_BOUGHT: Mapping[str, Any] = {"miles": F("odometer"), "is_full": Cast("brimmed", IntegerField())}
_NOT_BOUGHT: Mapping[str, Any] = {"miles": Value(0, IntegerField()), "is_full": Value(0, IntegerField())}
#: Lessons of one week that were saved together are one row of the list, in each month and by whether they count.
_WEEK, _IN_WEEK = "week", Q(batch__kind=BatchKind.WEEK)
_IS_VOIDED = Case(When(voided_at__isnull=False, then=True), default=False, output_field=BooleanField())


class Listed(NamedTuple):
    """One row of the list: an entry or, newest first, the lessons of a week that were saved together.

    ``receipts`` is how many pages of receipts there are.
    """

    entries: tuple[Entry, ...]
    receipts: int = 0


@dataclass(frozen=True)
class Totals:
    """What entries come to that count: pence of fills and costs, lessons and minutes as far as they are told.

    A sum is None without any entry of its kind. ``untold`` is how many teaching records tell no lessons or no minutes.
    """

    fills: int | None = None
    costs: int | None = None
    lessons: int = 0
    minutes: int = 0
    untold: int = 0

    def __add__(self, other: "Totals") -> "Totals":
        return Totals(
            _both(self.fills, other.fills),
            _both(self.costs, other.costs),
            self.lessons + other.lessons,
            self.minutes + other.minutes,
            self.untold + other.untold,
        )


def _both(one: int | None, other: int | None) -> int | None:
    return other if one is None else one + (other or 0)


@dataclass(frozen=True)
class Listing:
    """One page of what a search finds, and what all of it comes to, by month (its first day) and in all."""

    page: Page
    by_month: Mapping[date, Totals] = field(default_factory=dict)

    @property
    def rows(self) -> list[Listed]:
        """The rows of this page, newest first."""
        return list(self.page.object_list)

    @property
    def total(self) -> Totals:
        """What all of it comes to, on whichever page."""
        return sum(self.by_month.values(), Totals())


def entries_of(member: Member, search: Search, page: str | int = 1) -> Listing:
    """Return one page of a member's own entries, newest first, with the totals of all that are found.

    It takes at most ten queries, however many entries there are. Voided entries count in no total.
    """
    paged = Paginator(_keys(member, search), PAGE_LENGTH)
    wanted = paged.get_page(page)
    by_kind: dict[str, list[int]] = defaultdict(list)
    keys = [(row[0], row[1]) for row in wanted]
    for kind, key in keys:
        by_kind[kind].append(key)
    found = {
        (kind, key): row
        for kind, of_kind in by_kind.items()
        for key, row in (_weeks if kind == _WEEK else _singles)(member, search, kind, of_kind)
    }
    receipts = _receipts_of(row[0] for row in found.values())
    wanted.object_list = [Listed(found[key], receipts[found[key][0]]) for key in keys if key in found]
    return Listing(wanted, _totals(member, search))


def _keys(member: Member, search: Search) -> QuerySet:
    """Return kind, key and day of all that is found, newest first, as a union of the tables.

    Fills of one day stand in the order in which they were bought, as `costing.core.economy.in_order` has it. The key of
    a week is that of the last one among its entries.
    """
    parts = [_keys_of_kind(search.rows(member, kind), kind) for kind in search.kinds]
    if "lessons" in search.kinds:
        weeks = search.rows(member, "lessons").filter(_IN_WEEK).annotate(month=TruncMonth("to_on"), gone=_IS_VOIDED)
        grouped = weeks.values("batch", "month", "gone").annotate(
            kind=Value(_WEEK, CharField()), key=Max("pk"), day=Max("to_on"), logged_at=Max("created_at"), **_NOT_BOUGHT
        )
        parts.append(grouped.values_list(*_KEYS))
    if not parts:
        return Fill.objects.none()
    first, *others = parts
    together = first.union(*others, all=True) if others else first
    return together.order_by("-day", "-miles", "-is_full", "-logged_at", "kind")


def _keys_of_kind(rows: QuerySet, kind: str) -> QuerySet:
    model = ENTRY_MODELS[kind]
    alone = rows.exclude(_IN_WEEK) if model is TeachingRecord else rows
    named = {
        "kind": Value(kind, CharField()),
        "key": F("pk"),
        "day": F(ENTRY_DAYS[model]),
        "logged_at": F("created_at"),
    }
    return alone.annotate(**named, **(_BOUGHT if model is Fill else _NOT_BOUGHT)).values_list(*_KEYS)


def _singles(member: Member, search: Search, kind: str, keys: list[int]) -> Iterable[tuple[int, tuple[Entry, ...]]]:
    related = ("car", "batch", "repeat") if kind == "cost" else ("car", "batch")
    for entry in search.rows(member, kind).filter(pk__in=keys).select_related(*related):
        yield entry.pk, (entry,)


def _weeks(member: Member, search: Search, kind: str, keys: list[int]) -> Iterable[tuple[int, tuple[Entry, ...]]]:
    rows = search.rows(member, "lessons").filter(_IN_WEEK)
    saved = rows.filter(batch__in=rows.filter(pk__in=keys).values("batch"))
    by_week: dict[tuple, list[Entry]] = defaultdict(list)
    for entry in saved.select_related("car", "batch").order_by("-to_on", "-pk"):
        by_week[entry.batch_id, entry.to_on.year, entry.to_on.month, entry.voided_at is not None].append(entry)
    for week in by_week.values():
        yield max(entry.pk for entry in week), tuple(week)


def _receipts_of(entries: Iterable[Entry]) -> Counter[Entry]:
    """Return how many pages of receipts each of these entries has, by one query."""
    of_kind: dict[type[Entry], dict[int, Entry]] = {Fill: {}, CostEntry: {}, TeachingRecord: {}}
    for entry in entries:
        of_kind[type(entry)][entry.pk] = entry
    fills, costs = of_kind[Fill], of_kind[CostEntry]
    found = Receipt.objects.filter(Q(fill__in=fills.keys()) | Q(cost__in=costs.keys())).order_by()
    return Counter(
        fills[fill_id] if fill_id else costs[cost_id] for fill_id, cost_id in found.values_list("fill_id", "cost_id")
    )


def _totals(member: Member, search: Search) -> Mapping[date, Totals]:
    """Return what counts of all that is found, by month, newest first, by one query a kind."""
    totals: dict[date, Totals] = defaultdict(Totals)
    for kind in search.kinds:
        rows = search.rows(member, kind).standing()
        by_month = rows.annotate(month=TruncMonth(ENTRY_DAYS[ENTRY_MODELS[kind]])).values_list("month")
        if kind == "lessons":
            untold = Count("pk", filter=Q(lesson_count__isnull=True) | Q(minutes__isnull=True))
            for month, lessons, minutes, few in by_month.annotate(Sum("lesson_count"), Sum("minutes"), few=untold):
                totals[month] += Totals(lessons=lessons or 0, minutes=minutes or 0, untold=few)
            continue
        for month, amount in by_month.annotate(Sum("amount")):
            totals[month] += Totals(**{f"{kind}s": to_pence(amount)})
    return totals


def entries_with(
    member: Member, fills: Collection[int], costs: Collection[int]
) -> dict[tuple[type[Entry], int], Entry]:
    """Return a member's own fills and costs with these keys, by their type and key; two queries at most."""
    wanted: dict[type[Entry], Collection[int]] = {Fill: fills, CostEntry: costs}
    return {
        (model, entry.pk): entry
        for model, keys in wanted.items()
        for entry in model.objects.filter(member=member, pk__in=keys).select_related("car")
    }


def agreements_of(member: Member, car: Car) -> list[Agreement]:
    """Return the agreements that a member recorded for a car, newest first."""
    return list(Agreement.objects.filter(member=member, car=car).select_related("car").order_by("-starts_on"))


def valuations_of(member: Member, car: Car) -> list[Valuation]:
    """Return the valuations that a member recorded for a car, newest first."""
    return list(Valuation.objects.filter(member=member, car=car).order_by("-valued_on"))


def agreement_for(member: Member, car: Car, pk: int) -> Agreement:
    """Return one of the member's own agreements for a car. Raises Http404 for any other."""
    return get_object_or_404(Agreement.objects.select_related("car"), member=member, car=car, pk=pk)


def valuation_for(member: Member, car: Car, pk: int) -> Valuation:
    """Return one of the member's own valuations of a car. Raises Http404 for any other."""
    return get_object_or_404(Valuation.objects.select_related("car"), member=member, car=car, pk=pk)
