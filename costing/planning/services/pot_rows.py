"""What the pot is worked out from, as the book has it: the plan, what was typed, what is paid again, the last prices.

All of it is the member's own, and all of it comes by one query, because the home page asks it too.
"""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from operator import itemgetter
from typing import Any, NamedTuple, TypeVar

from django.db.models import Case, Count, F, Max, Model, OuterRef, Q, QuerySet, Subquery, Sum, Value, When, Window
from django.db.models.functions import Coalesce, JSONObject, Rank
from django.shortcuts import get_object_or_404
from django.utils import timezone

from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from costing.core.catalogue.costs import COST_CATEGORIES, REPAIRS
from costing.core.money import to_pence
from costing.core.records import Period
from costing.core.repeats import LOOKS_THE_SAME_WITHIN
from costing.models import Agreement, CostEntry, PotBill, PotPlan, Repeat, SettledDue
from costing.planning.core.bills import Price
from costing.planning.core.last_price import Occurs, Paid, beside, last_price, taken
from costing.planning.core.paid_again import pays_at_all
from costing.queries.repeats import repeating_of
from fleet.core.days import add_months
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from fleet.queries import cost_refs_of
from instructors.models import Member

Row = TypeVar("Row", bound=Model)

#: By category of cost, the kind whose last price it is, and those that share the category with it.
_KINDS: dict[str, list[str]] = {}
for _kind in DUE_KINDS.values():
    if _kind.cost_category and not _kind.named_by_note:
        _KINDS.setdefault(_kind.cost_category, []).append(_kind.name)
#: The categories by which finance or a hire is paid.
_INSTALMENTS = {kind.instalments.name for kind in AGREEMENT_KINDS.values() if kind.instalments}
#: Those that share: their price is known only from what was logged as they were met.
_SHARING = {kind for kinds in _KINDS.values() for kind in kinds[1:]}


class Logged(NamedTuple):
    """What is logged of an agreement's instalments: how many, and the day of the last."""

    instalments: int = 0
    last_on: date | None = None


@dataclass
class PotRows:
    """A member's own rows; the prices by car id and kind of due item.

    ``instalments`` are the days on which a car's finance or hire was paid last by hand, by car id and category;
    ``logged`` is what is logged of each agreement's, by its id. ``met`` are the due days of each repeat that a payment
    logged by hand will be taken for, by the repeat's id; of one that an agreement made, ``logged`` tells. ``by_hand``
    are the pence that were paid where another cost stands for a payment, by the repeat's id and due day.
    """

    plan: PotPlan | None = None
    typed: list[PotBill] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    agreements: list[Agreement] = field(default_factory=list)
    prices: dict[tuple[int, str], Price] = field(default_factory=dict)
    instalments: dict[tuple[int, str], date] = field(default_factory=dict)
    logged: dict[int, Logged] = field(default_factory=dict)
    met: dict[int, set[date]] = field(default_factory=dict)
    by_hand: dict[int, dict[date, int]] = field(default_factory=dict)


def owns_category(kind: str) -> bool:
    """Say whether the costs of a kind's category are for that kind, unless the book knows otherwise."""
    return kind not in _SHARING and not DUE_KINDS[kind].named_by_note


def plan_of(member: Member) -> PotPlan | None:
    """Return the member's plan; None while there is none."""
    return PotPlan.objects.filter(member=member).first()


def pot_bill_for(member: Member, pk: int) -> PotBill:
    """Return one of the member's own bills. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(PotBill.objects.select_related("car"), member=member, pk=pk)


def ways_held(member: Member, cars: Collection[Car]) -> list[AgreementKind]:
    """Return the kinds of the member's own agreements for these cars."""
    kinds = Agreement.objects.filter(member=member, car__in=cars).order_by("car", "starts_on")
    return [AGREEMENT_KINDS[kind] for kind in kinds.values_list("kind", flat=True)]


def pot_rows(member: Member, cars: Collection[Car], kinds: Collection[str]) -> PotRows:
    """Return the rows of a member's pot for their ``cars``, on which items of these ``kinds`` fall due.

    One query, and one more if there are items of a kind that shares its category of costs.
    """
    ids = [car.pk for car in cars]
    asked: list[QuerySet[Any, Any]] = [
        _as_json(PotPlan.objects.filter(member=member)),
        _as_json(PotBill.objects.filter(member=member, voided_at__isnull=True)),
    ]
    if ids:
        asked += [
            _as_json(Repeat.objects.filter(member=member, car__in=ids)),
            _as_json(Agreement.objects.filter(member=member, car__in=ids)),
            _logged(member, ids),
            _prices(member, ids, kinds),
            _settled(member, ids),
        ]
    found: dict[str, list[Mapping[str, Any]]] = {}
    for table, values in asked[0].union(*asked[1:], all=True):
        found.setdefault(table, []).append(json.loads(values) if isinstance(values, str) else values)
    of_id = {car.pk: car for car in cars}
    typed = sorted(_made(PotBill, found), key=lambda bill: (bill.due_on or date.max, bill.pk))
    for bill in typed:
        if bill.car_id in of_id:
            bill.car = of_id[bill.car_id]
    repeats = sorted(_paying(_made(Repeat, found)), key=lambda repeat: (repeat.car_id, repeat.starts_on, repeat.pk))
    paid = found.get(CostEntry.__name__, [])
    return PotRows(
        next(iter(_made(PotPlan, found)), None),
        typed,
        repeats,
        sorted(_made(Agreement, found), key=lambda agreement: (agreement.car_id, agreement.starts_on)),
        _price_by_kind((one for one in paid if one["category"] in _KINDS), repeats),
        _last_instalments(paid),
        {one["id"]: Logged(one["instalments"] or 0, _day(one["last_on"])) for one in found.get(Logged.__name__, ())},
        _met_by_hand(paid, repeats),
        _paid_by_hand(found.get(SettledDue.__name__, ()), repeats),
    )


def _paying(repeats: Iterable[Repeat]) -> Iterable[Repeat]:
    """Those that pay at all: one that was stopped before its first payment stands for nothing."""
    return (repeat for repeat in repeats if pays_at_all(repeating_of(repeat), repeat.stopped_on))


def _as_json(rows: QuerySet[Any]) -> QuerySet[Any, Any]:
    """Rows of any table as the name of their model and one value, so that several tables answer one query."""
    fields = {one.attname: F(one.attname) for one in rows.model._meta.concrete_fields}
    return rows.order_by().values_list(Value(rows.model.__name__), JSONObject(**fields))


def _made(model: type[Row], found: Mapping[str, Iterable[Mapping[str, Any]]]) -> list[Row]:
    """Return the rows again of what `_as_json` gave."""
    fields = {one.attname: one for one in model._meta.concrete_fields}
    return [
        model(**{name: fields[name].to_python(_plain(name, value)) for name, value in values.items()})
        for values in found.get(model.__name__, ())
    ]


def _plain(name: str, value: Any) -> Any:
    """The value for a column: SQLite gives a list within a value as text, and sums come as numbers."""
    if name == "holidays" and isinstance(value, str):
        return json.loads(value)
    return str(value) if isinstance(value, float) else value


def _prices(member: Member, ids: Collection[int], kinds: Collection[str]) -> QuerySet[Any, Any]:
    """What the member paid for each kind of due item and what was refunded, but for what repeats made, whose sums are
    counted so; of instalments the last; and of anything what may have been paid for a due day that is to come.

    Of kinds that share a category with another, it is what was logged as they were met.
    """
    apart = {kind: cost_refs_of(ids, kind) for kind in _SHARING if kind in kinds}
    whose = Case(*(When(ref__in=refs, then=Value(kind)) for kind, refs in apart.items()), default=Value(""))
    newest = Window(Rank(), partition_by=["car_id", "category"], order_by=[F("paid_on").desc()])
    is_new = Q(paid_on__gte=timezone.localdate() - LOOKS_THE_SAME_WITHIN, amount__gt=0)
    by_hand = CostEntry.objects.standing().filter(
        Q(category__in=_KINDS) & ~Q(amount=0) | Q(category__in=_INSTALMENTS, amount__gt=0) | is_new,
        member=member,
        car__in=ids,
        repeat__isnull=True,
    )
    names = ("car_id", "category", "whose", "paid_on", "amount", "covers_from", "covers_to", "covers_miles", "ended_on")
    wanted = by_hand.annotate(whose=whose, newest=newest).filter(Q(newest=1) | Q(category__in=_KINDS) | is_new)
    return wanted.order_by().values_list(Value(CostEntry.__name__), JSONObject(**{name: F(name) for name in names}))


def _logged(member: Member, ids: Collection[int]) -> QuerySet[Any, Any]:
    """What is logged of each agreement's instalments since it began, up to the member's next one for the car.

    One is what a repeat made, or of the sum of an instalment, with its fees or without: a deposit, or what extra miles
    cost, is none.
    """
    of_car = Agreement.objects.filter(member=member, car=OuterRef("car"))
    later = of_car.filter(starts_on__gt=OuterRef("starts_on")).order_by("starts_on")
    is_one = Q(repeat__isnull=False) | Q(amount__gte=OuterRef("payment"), amount__lt=OuterRef("beyond"))
    paid = CostEntry.objects.standing().filter(
        is_one,
        member=member,
        car=OuterRef("car"),
        category__in=_INSTALMENTS,
        amount__gt=0,
        paid_on__gte=OuterRef("starts_on"),
        paid_on__lt=OuterRef("following_on"),
    )
    of_each = paid.order_by().values("car")
    agreements = Agreement.objects.filter(member=member, car__in=ids).annotate(
        following_on=Coalesce(Subquery(later.values("starts_on")[:1]), Value(date.max)),
        # Half a penny more than an instalment with its fees, because SQLite adds sums as floats.
        beyond=F("payment") + Coalesce(F("fees"), Decimal(0)) + Decimal("0.005"),
    )
    counted = agreements.annotate(
        instalments=Subquery(of_each.annotate(count=Count("pk")).values("count")),
        last_on=Subquery(of_each.annotate(last=Max("paid_on")).values("last")),
    )
    names = ("id", "instalments", "last_on")
    return counted.order_by().values_list(Value(Logged.__name__), JSONObject(**{name: F(name) for name in names}))


def _settled(member: Member, ids: Collection[int]) -> QuerySet[Any, Any]:
    """What was paid for each due day of a repeat that a cost logged by hand settles."""
    rows = SettledDue.objects.filter(member=member, repeat__car__in=ids, ended_at__isnull=True).order_by()
    values = JSONObject(repeat_id=F("repeat_id"), due_on=F("due_on"), amount=F("cost__amount"))
    return rows.values_list(Value(SettledDue.__name__), values)


def repairs_of(member: Member, today: date) -> Decimal:
    """Return what the member paid for repairs in the 12 months up to today, in pounds."""
    paid = CostEntry.objects.standing().filter(
        member=member, category=REPAIRS.name, paid_on__gt=add_months(today, -12), paid_on__lte=today
    )
    return paid.aggregate(total=Sum("amount"))["total"] or Decimal(0)


def _price_by_kind(rows: Iterable[Mapping[str, Any]], repeats: Iterable[Repeat]) -> dict[tuple[int, str], Price]:
    """The prices by car id and kind. What was logged by hand and a repeat took as its own is that repeat's."""
    payments: dict[tuple[int, str], list[Paid]] = defaultdict(list)
    for values in rows:
        kind = values["whose"] or _KINDS[values["category"]][0]
        payments[values["car_id"], kind].append(_paid(values))
    for repeat in repeats:
        key = repeat.car_id, _KINDS.get(repeat.category, [""])[0]
        if key in payments:
            payments[key] = beside(payments[key], repeating_of(repeat), repeat.stopped_on)
    prices = {(car_id, kind): last_price(paid, _occurs(kind)) for (car_id, kind), paid in payments.items()}
    return {key: price for key, price in prices.items() if price}


def _paid_by_hand(rows: Iterable[Mapping[str, Any]], repeats: Iterable[Repeat]) -> dict[int, dict[date, int]]:
    """What was paid by the repeat's id and due day, where a cost that was logged by hand stands for the payment."""
    paid: dict[int, dict[date, int]] = {repeat.pk: {} for repeat in repeats}
    for values in rows:
        if values["repeat_id"] in paid:
            on = date.fromisoformat(values["due_on"])
            paid[values["repeat_id"]][on] = to_pence(Decimal(str(values["amount"])))
    return paid


def _met_by_hand(rows: Iterable[Mapping[str, Any]], repeats: Iterable[Repeat]) -> dict[int, set[date]]:
    """The due days of each repeat for which the hourly task will make nothing, because it was paid by hand."""
    own = [repeat for repeat in repeats if repeat.agreement_id is None]
    payments: dict[tuple[int, str], list[Paid]] = {(repeat.car_id, repeat.category): [] for repeat in own}
    for values in rows:
        if (key := (values["car_id"], values["category"])) in payments:
            payments[key].append(_paid(values))
    return {
        repeat.pk: {
            on for on, _ in taken(payments[repeat.car_id, repeat.category], repeating_of(repeat), repeat.stopped_on)
        }
        for repeat in own
    }


def _paid(values: Mapping[str, Any]) -> Paid:
    first, last = _day(values["covers_from"]), _day(values["covers_to"])
    return Paid(
        date.fromisoformat(values["paid_on"]),
        to_pence(Decimal(str(values["amount"]))),
        Period(first, last) if first and last else None,
        values["covers_miles"],
        _day(values["ended_on"]),
    )


def _occurs(kind: str) -> Occurs:
    if DUE_KINDS[kind].is_mot:
        return Occurs.TEST
    return Occurs.TERM if COST_CATEGORIES[DUE_KINDS[kind].cost_category].is_renewed else Occurs.VISIT


def _last_instalments(rows: Iterable[Mapping[str, Any]]) -> dict[tuple[int, str], date]:
    """The day on which finance or hire was paid last, by car id and category."""
    return {
        (values["car_id"], values["category"]): date.fromisoformat(values["paid_on"])
        for values in sorted(rows, key=itemgetter("paid_on"))
        if values["category"] in _INSTALMENTS
    }


def _day(value: str | None) -> date | None:
    return date.fromisoformat(value) if value else None
