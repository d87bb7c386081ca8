"""What a member's own book allows of a bill, of a pot and of a price: asked for once something is sent."""

from datetime import date, timedelta
from fractions import Fraction

from costing.core.catalogue.bills import BillKind
from costing.core.money import divide_half_up, to_pence
from costing.core.plausible import cost
from costing.core.records import Period
from costing.models import ChargePlan, PotBill, PotPlan
from costing.planning.core import plausible, plausible_charge, plausible_pot
from costing.planning.core.bills import Source
from costing.planning.services.own_cost import OwnCost, own_cost
from costing.planning.services.pot import pot_report
from costing.planning.services.takings import minutes_by_week, taken_by_week
from costing.queries.plausible import group_sums, limits_of
from fleet.core.plausible.doubt import Limits
from fleet.models import Car
from instructors.models import Member

#: Takings of so long tell what is taken an hour.
_TAKINGS_OF = timedelta(weeks=26)
#: Where the pot has a bill as a whole from.
_PRICES = {Source.QUOTE, Source.LAST_PRICE, Source.LAST_PAYMENTS}


def bill_limits(
    by: Member, kind: BillKind, words: str, car: Car | None, today: date, bill: PotBill | None = None
) -> Limits:
    """Return what ``by``'s own bills and costs allow of a bill; ``bill`` is the one that is being corrected."""
    others = PotBill.objects.filter(member=by, voided_at__isnull=True).select_related("car")
    if bill:
        others = others.exclude(pk=bill.pk)
    of_category = _of_category(by, kind, car, today) if kind.falls_due and kind.category else None
    last = _last_price(by, kind, car, today, bill) if of_category else None
    return plausible_pot.bill_limits(
        kind, words, map(_entered, others), of_category, today, is_new=bill is None, last_price=last
    )


def _last_price(by: Member, kind: BillKind, car: Car | None, today: date, bill: PotBill | None) -> int | None:
    """The pence at which the pot counts it; None if it does not, or by the very quote that is being corrected."""
    own = Source.QUOTE if bill else None
    counted = [
        one
        for one in pot_report(by, today).bills.known
        if one.category == kind.category and one.source in _PRICES and one.source != own
    ]
    return next((one.pence for one in counted if car is None or one.of == car.registration), None)


def _of_category(by: Member, kind: BillKind, car: Car | None, today: date) -> Limits:
    costs = limits_of("cost", by, car, today, today) if car else cost.limits((), None, today, group_sums())
    found: Limits = costs["categories"][kind.category]
    return found


def _entered(bill: PotBill) -> plausible_pot.Entered:
    car, day = bill.car.registration if bill.car else "", bill.due_on.isoformat() if bill.due_on else ""
    return plausible_pot.Entered(bill.kind, car, day, to_pence(bill.amount), bill.words, bill.is_yearly, bill.pk)


def plan_limits(by: Member, plan: PotPlan | None, today: date) -> Limits:
    """Return what the bills of ``by``'s year, and what they said of their pot before, allow of it."""
    report = pot_report(by, today)
    return plausible_pot.plan_limits(
        total=report.total,
        evenly=report.evenly,
        needed=report.smallest.weekly,
        last=(plan.balance_on, to_pence(plan.balance)) if plan and plan.balance else None,
        weekly=to_pence(plan.weekly) if plan and plan.weekly else None,
    )


def charge_limits(by: Member, plan: ChargePlan | None, today: date) -> Limits:
    """Return what ``by``'s takings of half a year, their plan so far and their own records allow of another plan."""
    period = Period(today - _TAKINGS_OF, today)
    taken = plausible.limits(taken_by_week(by, period.first), minutes_by_week(by, period), today)
    names = ("lesson_hour_price", "wanted", "other_costs", "car_a_week")
    told = {name: getattr(plan, name) for name in names} if plan else {}
    before = {name: to_pence(value) for name, value in told.items() if value is not None}
    an_hour = taken["an_hour"] if taken["has_hours"] else None
    return plausible_charge.limits(before, an_hour, _of_book(own_cost(by, today)))


def _of_book(own: OwnCost) -> plausible_charge.OfBook:
    hours, mile = own.hours_in(Fraction(1)), own.cost and own.cost.mile
    # A mile as the page shows it, to the tenth of a penny.
    return plausible_charge.OfBook(
        divide_half_up(hours * 100, 1) if hours else None, 10 * divide_half_up(mile * 10, 1) if mile else None
    )
