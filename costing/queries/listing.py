"""A member's own entries as the pages list them, and their agreements and valuations."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any, NamedTuple

from django.core.paginator import Page, Paginator
from django.db.models import CharField, F, IntegerField, QuerySet, Value
from django.db.models.functions import Cast
from django.shortcuts import get_object_or_404

from costing.models import Agreement, Entry, Fill, Valuation
from costing.queries.entries import ENTRY_DAYS, ENTRY_MODELS
from fleet.models import Car
from instructors.models import Member

PAGE_LENGTH = 25


_KEYS = ("kind", "pk", "day", "miles", "is_full", "created_at")
#: What puts two fills of one day in order, and stands in for it in tables that have no such thing.
_BOUGHT: Mapping[str, Any] = {"miles": F("odometer"), "is_full": Cast("brimmed", IntegerField())}
_NOT_BOUGHT: Mapping[str, Any] = {"miles": Value(0, IntegerField()), "is_full": Value(0, IntegerField())}


class _Key(NamedTuple):
    kind: str
    pk: int


def entries_of(member: Member, *, kind: str = "", voided_too: bool = False, page: str | int = 1) -> Page:
    """Return one page of a member's own entries, newest first, of one kind or of all together.

    It takes at most five queries, however many entries there are.
    """
    paged = Paginator(_keys(member, [kind] if kind else list(ENTRY_MODELS), voided_too=voided_too), PAGE_LENGTH)
    wanted = paged.get_page(page)
    keys = [_Key(row[0], row[1]) for row in wanted]
    by_kind: dict[str, list[int]] = defaultdict(list)
    for key in keys:
        by_kind[key.kind].append(key.pk)
    found: dict[_Key, Entry] = {}
    for name, pks in by_kind.items():
        for entry in ENTRY_MODELS[name].objects.filter(pk__in=pks).select_related("car"):
            found[_Key(name, entry.pk)] = entry
    wanted.object_list = [found[key] for key in keys if key in found]
    return wanted


def _keys(member: Member, kinds: list[str], *, voided_too: bool) -> QuerySet:
    """Return kind, key and day of a member's entries of some kinds, newest first, as a union of their tables.

    Fills of one day stand in the order in which they were bought, as `costing.core.economy.in_order` has it.
    """
    parts = []
    for kind in kinds:
        model = ENTRY_MODELS[kind]
        rows = model.objects.filter(member=member)
        if not voided_too:
            rows = rows.standing()
        named = rows.order_by().annotate(kind=Value(kind, CharField()), day=F(ENTRY_DAYS[model]))
        parts.append(named.annotate(**(_BOUGHT if model is Fill else _NOT_BOUGHT)).values_list(*_KEYS))
    first, *others = parts
    together = first.union(*others, all=True) if others else first
    return together.order_by("-day", "-miles", "-is_full", "-created_at", "kind")


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
