"""A cost logged by hand in place of a payment that its repeat would make or has made, and that payment back again.

Such an entry has the repeat's name. So it is counted as the repeat's own wherever what is paid again is counted.
"""

from config import showing
from config.history import lock, put, save_as
from costing.actions.cover import cover_bought, move_cover
from costing.core.periods import ONE_DAY
from costing.core.repeats import Due, dues_between
from costing.models import CostEntry, Repeat
from costing.queries.repeats import DUE_AGAIN, TAKEN, awaited_near, due_paid_by, in_place_words, made_for, repeating_of
from instructors.models import Member


def pay_in_place(*, by: Member, cost: CostEntry, of: str) -> None:
    """Settle the payment with the reference ``of`` by ``cost``, which ``by`` has just logged; its car is locked.

    The schedule makes it no more; if it was made already, that entry is voided. A reference of another category, of a
    day far from the cost's, or of a payment that is settled already leaves the cost one of its own, as does a refund.
    """
    near = awaited_near(by, cost.car, cost.paid_on) if cost.amount > 0 else []
    found = next((one for one in near if one.ref == of and one.repeat.category == cost.category), None)
    if found is None:
        return
    repeat = lock(found.repeat)
    cost.repeat = repeat
    save_as(by, cost, "repeat", reason=in_place_words(found.due))
    words = f"{showing.day(found.due.on)}: {TAKEN} {showing.day(cost.paid_on)}"
    if made := made_for(repeat, found.due):
        before, made.voided_at = cover_bought(made), cost.created_at
        save_as(by, made, "voided_at", reason=words)
        move_cover(by=by, car=cost.car, before=before, after=None)
    changed = put(repeat, settled(repeat, found.due))
    save_as(None, repeat, *changed, reason=words)


def give_back(*, by: Member, cost: CostEntry) -> None:
    """Make the payment due again that ``cost``, just voided, had settled: an entry that was made for it counts again.

    Nothing is due again once the schedule has gone on to the payments after it.
    """
    due = due_paid_by(cost)
    if due is None or cost.repeat is None:
        return
    repeat, words = lock(cost.repeat), f"{showing.day(due.on)}: {DUE_AGAIN}"
    if made := made_for(repeat, due):
        made.voided_at = None
        save_as(by, made, "voided_at", reason="Put back")
        move_cover(by=by, car=cost.car, before=None, after=cover_bought(made))
    else:
        before = dues_between(repeating_of(repeat), None, due.on - ONE_DAY)
        put(repeat, {"made_until": before[-1].on if before else None})
    save_as(None, repeat, "made_until", reason=words)


def settled(repeat: Repeat, due: Due) -> dict[str, object]:
    """Return the fields to set once a payment is made or settled."""
    return {"made_until": max(filter(None, [repeat.made_until, due.on])), **new_sum(repeat, due)}


def new_sum(repeat: Repeat, due: Due) -> dict[str, object]:
    """Return the fields to set once the day from which a new sum counts has come."""
    if repeat.next_amount_from is None or repeat.next_amount_from > due.on:
        return {}
    return {"amount": repeat.next_amount, "next_amount": None, "next_amount_from": None}
