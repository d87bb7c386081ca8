"""What the pot is worked out from, as the book has it: the plan, what was typed, what is paid again, the last prices.

All of it is the member's own.
"""

from collections.abc import Collection
from datetime import date

from django.db.models import Case, F, Value, When, Window
from django.db.models.functions import Rank
from django.shortcuts import get_object_or_404

from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.money import to_pence
from costing.core.records import Period
from costing.models import Agreement, CostEntry, PotBill, PotPlan, Repeat
from costing.planning.core.bills import Price, Source
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from fleet.queries import cost_refs_of
from instructors.models import Member

#: By category of cost, the kind whose last price it is, and those that share the category with it.
_KINDS: dict[str, list[str]] = {}
for _kind in DUE_KINDS.values():
    if _kind.cost_category and not _kind.named_by_note:
        _KINDS.setdefault(_kind.cost_category, []).append(_kind.name)
#: Those that share: their price is known only from what was logged as they were met.
_SHARING = {kind for kinds in _KINDS.values() for kind in kinds[1:]}


def owns_category(kind: str) -> bool:
    """Say whether the costs of a kind's category are for that kind, unless the book knows otherwise."""
    return kind not in _SHARING and not DUE_KINDS[kind].named_by_note


def plan_of(member: Member) -> PotPlan | None:
    """Return the member's plan; None while there is none."""
    return PotPlan.objects.filter(member=member).first()


def typed_bills_of(member: Member) -> list[PotBill]:
    """Return the member's own bills and quotes that count, by day."""
    return list(PotBill.objects.filter(member=member, voided_at__isnull=True).select_related("car"))


def pot_bill_for(member: Member, pk: int) -> PotBill:
    """Return one of the member's own bills. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(PotBill.objects.select_related("car"), member=member, pk=pk)


def repeats_on(member: Member, cars: Collection[Car]) -> list[Repeat]:
    """Return what repeats for the member on these cars."""
    return list(Repeat.objects.filter(member=member, car__in=cars)) if cars else []


def agreements_on(member: Member, cars: Collection[Car]) -> list[Agreement]:
    """Return the member's own agreements for these cars, by car and first day."""
    return list(Agreement.objects.filter(member=member, car__in=cars)) if cars else []


def ways_held(member: Member, cars: Collection[Car]) -> list[AgreementKind]:
    """Return the kinds of the member's own agreements for these cars."""
    return [AGREEMENT_KINDS[agreement.kind] for agreement in agreements_on(member, cars)]


def last_prices(member: Member, cars: Collection[Car], kinds: Collection[str]) -> dict[tuple[int, str], Price]:
    """Return what the member paid last for each kind of due item, by car id and kind: refunds aside.

    It is what was paid on one day for the latest cover, or without cover on the latest day. What repeats made is left
    out: its sums are parts. Of kinds that share a category with another, what was logged as they were met.
    """
    if not cars:
        return {}
    ids = [car.pk for car in cars]
    apart = {kind: cost_refs_of(ids, kind) for kind in _SHARING if kind in kinds}
    whose = Case(*(When(ref__in=refs, then=Value(kind)) for kind, refs in apart.items()), default=Value(""))
    newest = Window(
        Rank(),
        partition_by=["car_id", "category", "whose"],
        order_by=[F("covers_from").desc(nulls_last=True), F("paid_on").desc()],
    )
    paid = CostEntry.objects.standing().filter(member=member, car__in=ids, category__in=_KINDS, amount__gt=0)
    by_hand = paid.filter(repeat__isnull=True).annotate(whose=whose)
    rows = by_hand.annotate(newest=newest).filter(newest=1).order_by("pk")
    prices: dict[tuple[int, str], Price] = {}
    fields = ("car_id", "category", "whose", "paid_on", "amount", "covers_from", "covers_to", "covers_miles")
    for car_id, category, kind, paid_on, amount, first, last, miles in rows.values_list(*fields):
        key = (car_id, kind or _KINDS[category][0])
        pence = to_pence(amount) + (prices[key].pence if key in prices else 0)
        prices[key] = Price(pence, Source.LAST_PRICE, paid_on, _renewed(category, first, last), miles)
    return prices


def _renewed(category: str, first: date | None, last: date | None) -> Period | None:
    """Return the days that a cost covers if such a cost is paid again when they are over."""
    if first is None or last is None or not COST_CATEGORIES[category].is_renewed:
        return None
    return Period(first, last)
