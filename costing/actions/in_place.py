"""The payments of what repeats: made, settled by a cost that was logged by hand, or due again.

A cost that settles one has the repeat's name. So it is counted as the repeat's own wherever what is paid again is
counted. The car of all of them is locked.
"""

from django.utils import timezone

from config import showing
from config.history import add_all, lock, put, save_as
from costing.actions.cover import cover_bought, move_cover
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.money import to_pounds
from costing.core.periods import ONE_DAY
from costing.core.repeats import Due, dues_between, made_ref
from costing.models import CostEntry, Repeat, SettledDue
from costing.queries.repeats import (
    awaited_near,
    due_of,
    falls_due_again,
    is_settled,
    logged_by_hand,
    made_for,
    repeating_of,
    settled_by,
)
from instructors.models import Member


def pay_in_place(*, by: Member, cost: CostEntry, of: str) -> None:
    """Settle the payment with the reference ``of`` by ``cost``, which ``by`` has just logged.

    The schedule makes it no more; if it was made already, that entry is voided. A reference of another category, of a
    day far from the cost's, or of a payment that is settled already leaves the cost one of its own, as does a refund.
    """
    near = awaited_near(by, cost.car, cost.paid_on) if cost.amount > 0 else []
    found = next((one for one in near if one.ref == of and one.repeat.category == cost.category), None)
    if found is not None:
        _settle(by, cost, lock(found.repeat, "member"), found.due)


def meet(repeat: Repeat, due: Due) -> bool:
    """Meet a payment that is due, and go on from it: by the entry of its own, or by one logged by hand that looks the
    same. Returns whether an entry is new.
    """
    is_new = False
    if is_settled(repeat, due):
        _go_on(repeat, due)
    elif by_hand := logged_by_hand(repeat, due):
        _settle(None, by_hand, repeat, due)
    else:
        is_new = made_for(repeat, due) is None
        if is_new:
            _make(repeat, due)
        _go_on(repeat, due)
    return is_new


def give_back(*, by: Member, cost: CostEntry) -> None:
    """Make the payment due again that ``cost`` has settled, as it no longer stands for it.

    The entry that was made for it counts again. Without one, it is met at once if its day has come, else by the
    schedule on that day. Nothing is due again of a repeat that was stopped before it.
    """
    row = settled_by(cost)
    if row is None:
        return
    row.ended_at = timezone.now()
    save_as(by, row, "ended_at", reason="Given back")
    if not falls_due_again(row):
        return
    row.repeat = repeat = lock(row.repeat, "member")
    due, repeat.car = due_of(row), cost.car
    made = made_for(repeat, due)
    if made and made.voided_at and not logged_by_hand(repeat, due):
        made.voided_at = None
        save_as(by, made, "voided_at", reason="Put back")
        move_cover(by=by, car=cost.car, before=None, after=cover_bought(made))
    elif due.on <= timezone.localdate():
        meet(repeat, due)
    else:
        before = dues_between(repeating_of(repeat), None, due.on - ONE_DAY)
        changed = put(repeat, {"made_until": before[-1].on if before else None})
        save_as(None, repeat, *changed, reason=f"{showing.day(due.on)}: due again")


def give_back_unless_it_fits(*, by: Member, cost: CostEntry) -> None:
    """Give back what ``cost`` settles if, once corrected, it is a refund or of another category: no such payment."""
    row = settled_by(cost)
    if row is None or (cost.amount > 0 and cost.category == row.repeat.category):
        return
    give_back(by=by, cost=cost)
    cost.repeat = None
    save_as(by, cost, "repeat", reason=f"No longer in place of the payment of {showing.day(row.due_on)}")


def new_sum(repeat: Repeat, due: Due) -> dict[str, object]:
    """Return the fields to set once the day from which a new sum counts has come."""
    if repeat.next_amount_from is None or repeat.next_amount_from > due.on:
        return {}
    return {"amount": repeat.next_amount, "next_amount": None, "next_amount_from": None}


def _settle(by: Member | None, cost: CostEntry, repeat: Repeat, due: Due) -> None:
    """Let a cost stand for a payment, by its member or (None) by the book itself; what was made for it is voided."""
    words, made = f"In place of the payment of {showing.day(due.on)}", made_for(repeat, due)
    cost.repeat = repeat
    save_as(by, cost, "repeat", reason=words)
    # A cost that was corrected, and is right again, has its row already.
    row = SettledDue.objects.filter(cost=cost).first() or SettledDue(cost=cost, member_id=repeat.member_id)
    row.repeat, row.due_on, row.ended_at = repeat, due.on, None
    # A made entry that was corrected to a refund tells no sum of a payment.
    row.amount = made.amount if made and made.amount > 0 else to_pounds(due.amount)
    save_as(by, row, reason=words)
    if made and made.voided_at is None:
        before, made.voided_at = cover_bought(made), timezone.now()
        save_as(by, made, "voided_at", reason=f"Taken as the one you logged on {showing.day(cost.paid_on)}")
        move_cover(by=repeat.member, car=cost.car, before=before, after=None)
    _go_on(repeat, due)


def _make(repeat: Repeat, due: Due) -> None:
    """Make the entry of a payment, as its member would have logged it."""
    covers = repeat.covers_its_days and COST_CATEGORIES[repeat.category].covers == "days"
    cost = CostEntry(
        ref=made_ref(repeat.ref, due.on),
        car=repeat.car,
        member=repeat.member,
        paid_on=due.on,
        category=repeat.category,
        amount=to_pounds(due.amount),
        covers_from=due.days.first if covers else None,
        covers_to=due.days.last if covers else None,
        supplier=repeat.supplier,
        note=repeat.note,
        repeat=repeat,
    )
    add_all([cost], f"Made from {repeat}")
    move_cover(by=repeat.member, car=repeat.car, before=None, after=cover_bought(cost))


def _go_on(repeat: Repeat, due: Due) -> None:
    """Let the schedule go on with the payments after one that is met."""
    changed = put(repeat, {"made_until": max(filter(None, [repeat.made_until, due.on])), **new_sum(repeat, due)})
    if changed:
        save_as(None, repeat, *changed, reason=f"{showing.day(due.on)}: met")
