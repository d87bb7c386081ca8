"""What repeats: a member's own, what it made, what it will make next, and what an agreement has to pay."""

from collections.abc import Container, Iterable
from datetime import date
from enum import StrEnum
from typing import NamedTuple, cast

from django.db.models import Count, F, Q, QuerySet
from django.shortcuts import get_object_or_404

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY, Every
from costing.core.repeats import (
    LOOKS_THE_SAME_WITHIN,
    Due,
    Repeating,
    dues_between,
    made_ref,
    next_dues,
    told_by_hand,
)
from costing.models import Agreement, CostEntry, Interval, Repeat, SettledDue
from fleet.models import Car
from fleet.queries import Keepership, ended_by, times_with_cars
from instructors.models import Member


class Ended(StrEnum):
    """Why nothing more is made."""

    STOPPED = "stopped"
    PAID = "paid"
    HANDED_OVER = "handed_over"
    OUT_OF_SERVICE = "out_of_service"
    LEFT = "left"


class Awaited(NamedTuple):
    """A payment that the schedule makes next, or has made: what its entry is known by (`made_ref`)."""

    repeat: Repeat
    due: Due
    ref: str


class Coming(NamedTuple):
    """The next payment, or why there is none and since which day."""

    due: Due | None
    ended: Ended | None = None
    ended_on: date | None = None


def repeat_for(member: Member, pk: int) -> Repeat:
    """Return one of the member's own repeats. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Repeat.objects.select_related("car", "agreement"), member=member, pk=pk)


def repeats_of(member: Member) -> list[Repeat]:
    """Return all that repeats for a member, each with ``made_count``, how many standing entries it made."""
    standing = Count("made", filter=Q(made__voided_at__isnull=True))
    return list(Repeat.objects.filter(member=member).select_related("car").annotate(made_count=standing))


def repeats_to_look_at(on: date) -> list[int]:
    """Return the ids of all of which an entry may be due on ``on``."""
    begun = Repeat.objects.filter(starts_on__lte=on)
    unfinished = Q(stopped_on__isnull=True) | Q(made_until__isnull=True) | Q(stopped_on__gt=F("made_until"))
    return list(begun.filter(unfinished).order_by("pk").values_list("pk", flat=True))


def made_by(repeat: Repeat) -> list[CostEntry]:
    """Return the entries that a repeat made, voided ones too, newest first."""
    return list(CostEntry.objects.filter(repeat=repeat).select_related("car").order_by("-paid_on", "-pk"))


def settled_of(repeat: Repeat) -> list[SettledDue]:
    """Return the payments for which an entry logged by hand stands, each with that entry, newest first."""
    return list(_standing().filter(repeat=repeat).select_related("cost").order_by("-due_on"))


def settled_by(cost: CostEntry) -> SettledDue | None:
    """Return the payment for which a cost logged by hand stands, with its repeat; None if for none."""
    if cost.repeat_id is None:
        return None
    return _standing().filter(cost=cost).select_related("repeat__car", "repeat__member").first()


def is_settled(repeat: Repeat, due: Due) -> bool:
    """Say whether an entry logged by hand stands for a payment."""
    return _standing().filter(repeat=repeat, due_on=due.on).exists()


def falls_due_again(row: SettledDue) -> bool:
    """Say whether a payment is due again once nothing stands for it.

    Not if its repeat was stopped before it, or its member no longer kept the car on that day.
    """
    repeat = row.repeat
    goes_on = repeat.stopped_on is None or row.due_on <= repeat.stopped_on
    return goes_on and is_in(own_days(repeat.member, repeat.car), row.due_on)


def due_of(row: SettledDue) -> Due:
    """Return a settled payment as its repeat would make it, of the sum that it came to then."""
    (due,) = dues_between(repeating_of(row.repeat), row.due_on - ONE_DAY, row.due_on)
    return due._replace(amount=to_pence(row.amount))


def _standing() -> QuerySet[SettledDue]:
    return SettledDue.objects.filter(ended_at__isnull=True)


def running_repeat_of(agreement: Agreement) -> Repeat | None:
    """Return what repeats for an agreement and was not stopped."""
    return Repeat.objects.filter(agreement=agreement, stopped_on__isnull=True).first()


def running_of(member: Member, today: date) -> list[Repeat]:
    """Return those of a member's repeats that have a payment to come."""
    going_on = Q(stopped_on__isnull=True) | Q(stopped_on__gt=today)
    repeats = Repeat.objects.filter(going_on, member=member)
    return [repeat for repeat in repeats if next_dues(repeating_of(repeat), repeat.made_until, 1)]


def repeating_of(repeat: Repeat) -> Repeating:
    """Return a repeat as the core has it."""
    return Repeating(
        starts_on=repeat.starts_on,
        every=cast(Every, str(repeat.interval)),
        amount=to_pence(repeat.amount),
        payments=repeat.payments,
        in_arrears=repeat.in_arrears,
        fees=to_pence(repeat.fees) if repeat.fees else 0,
        final_payment=to_pence(repeat.final_payment) if repeat.final_payment else 0,
        next_amount=to_pence(repeat.next_amount) if repeat.next_amount else None,
        next_amount_from=repeat.next_amount_from,
    )


def proposal_of(agreement: Agreement) -> Repeat | None:
    """Return what an agreement has its payer pay again and again, not saved; None if it has no instalments.

    Its due days and sums are those by which the costs of the agreement are worked out: a hire past its term goes on at
    its payment until somebody ends it, so what repeats for it has no end.
    """
    kind = AGREEMENT_KINDS[agreement.kind]
    category = kind.instalments
    if category is None or not (agreement.payment and agreement.payments and agreement.frequency):
        return None
    return Repeat(
        car_id=agreement.car_id,
        member_id=agreement.member_id,
        agreement=agreement,
        category=category.name,
        amount=agreement.payment,
        interval=Interval(str(agreement.frequency)),
        starts_on=agreement.starts_on,
        in_arrears=True,
        payments=None if kind.is_hire else agreement.payments,
        fees=agreement.fees or None,
        final_payment=agreement.final_payment or None,
    )


def own_days(member: Member, car: Car) -> list[Keepership]:
    """Return the member's own times with a car, none going on after its service or after they have left."""
    times = times_with_cars(member, from_the_first=True).get(car.registration, [])
    return ended_by(times, car.in_service_to, member.left_on)


def is_in(times: Iterable[Keepership], on: date) -> bool:
    """Say whether a day lies in one of these times."""
    return any(time.holds(on) for time in times)


def coming_of(repeat: Repeat, today: date) -> Coming:
    """Return the next payment from ``today`` on that will be made, or why none will."""
    since = max(filter(None, [repeat.made_until, today - ONE_DAY]))
    following = next_dues(repeating_of(repeat), since, 1)
    if repeat.stopped_on and (not following or following[0].on > repeat.stopped_on):
        return Coming(None, Ended.STOPPED, repeat.stopped_on)
    if not following:
        return Coming(None, Ended.PAID)
    times = own_days(repeat.member, repeat.car)
    if is_in(times, following[0].on):
        return Coming(following[0])
    last = max((time.last for time in times if time.last), default=None)
    if repeat.car.in_service_to and last == repeat.car.in_service_to:
        return Coming(None, Ended.OUT_OF_SERVICE, last)
    if last and last == repeat.member.left_on:
        return Coming(None, Ended.LEFT, last)
    return Coming(None, Ended.HANDED_OVER, last)


def awaited_near(member: Member, car: Car, on: date) -> list[Awaited]:
    """Return the payments of a member's repeats for a car, within 5 days of ``on``, that one logged by hand may be.

    That is the next of each repeat, unless it is taken as logged by hand already, and those whose made entry stands.
    """
    own = Repeat.objects.filter(member=member, car=car)
    near = [Awaited(repeat, due, made_ref(repeat.ref, due.on)) for repeat in own for due in _dues_near(repeat, on)]
    if not near:
        return []
    # One that was corrected to a refund, or to another category, is no payment of its repeat any more.
    entries = CostEntry.objects.standing().filter(ref__in=[one.ref for one in near], amount__gt=0)
    made = set(entries.values_list("ref", "category"))
    times = own_days(member, car)
    return [one for one in near if _is_awaited(one, made, times)]


def _dues_near(repeat: Repeat, on: date) -> list[Due]:
    last = min(on + LOOKS_THE_SAME_WITHIN, repeat.stopped_on or date.max)
    return dues_between(repeating_of(repeat), on - LOOKS_THE_SAME_WITHIN - ONE_DAY, last)


def _is_awaited(one: Awaited, made: Container[tuple[str, str]], times: Iterable[Keepership]) -> bool:
    repeat, due, ref = one
    if repeat.made_until is not None and due.on <= repeat.made_until:
        return (ref, repeat.category) in made
    is_next = due in next_dues(repeating_of(repeat), repeat.made_until, 1)
    return is_next and is_in(times, due.on) and not logged_by_hand(repeat, due)


def made_for(repeat: Repeat, due: Due) -> CostEntry | None:
    """Return the entry that was made for a payment, voided or not."""
    return CostEntry.objects.filter(ref=made_ref(repeat.ref, due.on)).first()


def logged_by_hand(repeat: Repeat, due: Due) -> CostEntry | None:
    """Return the member's own entry that looks the same as a payment that is due and is taken for it."""
    near = (due.on - LOOKS_THE_SAME_WITHIN, due.on + LOOKS_THE_SAME_WITHIN)
    costs = CostEntry.objects.standing().filter(
        member=repeat.member_id, car=repeat.car_id, category=repeat.category, repeat__isnull=True, paid_on__range=near
    )
    same = {cost.paid_on: cost for cost in costs.order_by("-pk") if to_pence(cost.amount) == due.amount}
    day = told_by_hand(repeating_of(repeat), due, same)
    return same[day] if day else None
