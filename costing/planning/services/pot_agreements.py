"""The bills of what is paid again and again: by what repeats, and by what an agreement asks beyond that."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.repeats import dues_between
from costing.models import Agreement, PotPlan, Repeat
from costing.planning.core.bills import (
    Bill,
    Lacks,
    NotKnown,
    Source,
)
from costing.planning.core.paid_again import (
    Payments,
    bills_of_payments,
    last_payment_on,
    paid_ahead,
    pays_all,
    taken_until,
    with_logged,
)
from costing.planning.services.pot_gathered import Gathered
from costing.planning.services.pot_rows import Logged
from costing.queries.repeats import proposal_of, repeating_of
from fleet.models import Car

#: What was paid less than so long ago goes on, for all one knows: payments are a month apart at most.
_OF_LATE = timedelta(days=62)


def of_repeats(book: Gathered) -> Iterator[Bill]:
    """Yield the payments to come of what repeats that were not made by hand; an agreement's after those logged."""
    cars = {car.pk: car for car in book.cars}
    for repeat in book.rows.repeats:
        car, agreement = cars[repeat.car_id], _paid_by(repeat, book)
        payments = _payments(repeat, car, agreement, book.rows.plan)
        after, until = _to_come(repeat, book, book.until(car))
        if repeat.agreement_id and agreement:
            logged = _instalments(agreement, book.rows.logged[agreement.pk])
            payments = payments._replace(ahead=paid_ahead(payments.terms, after, logged))
            payments = with_logged(payments, book.year.first - ONE_DAY, logged)
        met = book.rows.met.get(repeat.pk, ())
        yield from (bill for bill in bills_of_payments(payments, after, until) if bill.on not in met)


def _to_come(repeat: Repeat, book: Gathered, until: date) -> tuple[date, date]:
    """Return after which day the payments of a repeat are still to come, and up to which."""
    after = max(filter(None, [repeat.made_until, book.year.first - ONE_DAY]))
    return after, min(filter(None, [until, repeat.stopped_on]))


def of_agreements(book: Gathered) -> Iterator[Bill | NotKnown]:
    """Yield what each agreement asks, but for what a repeat pays of it; of a car without any, that it is not known."""
    cars = {car.pk: car for car in book.cars}
    by_car: dict[int, list[Agreement]] = defaultdict(list)
    for agreement in book.rows.agreements:
        by_car[agreement.car_id].append(agreement)
    for of_car in by_car.values():
        for agreement, following in zip(of_car, [*of_car[1:], None], strict=True):
            yield from _of_agreement(agreement, following, cars[agreement.car_id], book)
    repeated = {(repeat.car_id, repeat.category) for repeat in book.rows.repeats}
    for (car_id, category), paid_on in book.rows.instalments.items():
        is_told = car_id in by_car or (car_id, category) in repeated
        if not is_told and paid_on > book.year.first - _OF_LATE:
            yield NotKnown(COST_CATEGORIES[category].words, cars[car_id].registration, "", Lacks.AGREEMENT)


def _of_agreement(
    agreement: Agreement, following: Agreement | None, car: Car, book: Gathered
) -> Iterator[Bill | NotKnown]:
    kind, first, until = AGREEMENT_KINDS[agreement.kind], book.year.first, book.until(car)
    category = kind.instalments
    if category is None:
        return
    if agreement.deposit and first < agreement.starts_on <= until:
        pence = to_pence(agreement.deposit)
        words = kind.deposit_words.capitalize()
        yield Bill(agreement.starts_on, pence, words, Source.DEPOSIT, car.registration, category.name)
    if following and kind.is_hire:
        until = min(until, following.starts_on - ONE_DAY)
    repeats = [one for one in book.rows.repeats if _pays(one, agreement)]
    proposal = proposal_of(agreement)
    if proposal is None:
        if following is None and not any(_goes_on(one, until) for one in repeats):
            yield NotKnown(category.words, car.registration, "", Lacks.TERMS)
        return
    payments = _payments(proposal, car, agreement, book.rows.plan)
    payments = with_logged(payments, first - ONE_DAY, _instalments(agreement, book.rows.logged[agreement.pk]))
    yield from bills_of_payments(_beyond(payments, repeats, book, agreement, until), first - ONE_DAY, until)


def _beyond(payments: Payments, repeats: list[Repeat], book: Gathered, agreement: Agreement, until: date) -> Payments:
    """Return what an agreement asks beyond its ``repeats``, and beyond what is logged."""
    logged = book.rows.logged[agreement.pk]
    terms, met, paid = payments.terms, book.year.first - ONE_DAY, _instalments(agreement, logged)
    for repeat in repeats:
        of_repeat = repeating_of(repeat)
        met = max(met, last_payment_on(of_repeat, repeat.stopped_on, until) or until)
        paid += len(dues_between(of_repeat, *_to_come(repeat, book, until)))
        if repeat.final_payment and pays_all(of_repeat, repeat.stopped_on):
            terms = terms._replace(final_payment=0)
    if logged.last_on:
        met = taken_until(terms, met, logged.last_on)
    return payments._replace(terms=terms, met_until=met, ahead=paid_ahead(terms, met, paid))


def _instalments(agreement: Agreement, logged: Logged) -> int:
    """Return how many instalments are logged: of a deposit of the same sum, one of them is taken as the deposit."""
    is_same = bool(agreement.deposit) and agreement.deposit == agreement.payment
    return max(0, logged.instalments - is_same)


def _goes_on(repeat: Repeat, until: date) -> bool:
    return last_payment_on(repeating_of(repeat), repeat.stopped_on, until) is None


def _pays(repeat: Repeat, agreement: Agreement) -> bool:
    """Say whether what repeats pays an agreement: it was made from it, or is of its car and sort."""
    if repeat.agreement_id:
        return repeat.agreement_id == agreement.pk
    category = AGREEMENT_KINDS[agreement.kind].instalments
    return category is not None and (repeat.car_id, repeat.category) == (agreement.car_id, category.name)


def _paid_by(repeat: Repeat, book: Gathered) -> Agreement | None:
    """Return the agreement that a repeat pays; of several, the last that has begun."""
    paid = [agreement for agreement in book.rows.agreements if _pays(repeat, agreement)]
    return max(paid, key=lambda one: (one.starts_on <= book.year.first, one.starts_on), default=None)


def _payments(repeat: Repeat, car: Car, agreement: Agreement | None, plan: PotPlan | None) -> Payments:
    """Return what a repeat pays. One entered by hand has numbers of its own: it may have begun within the term."""
    kind = AGREEMENT_KINDS[agreement.kind] if agreement else None
    made_from = agreement if repeat.agreement_id else None
    return Payments(
        repeating_of(repeat),
        COST_CATEGORIES[repeat.category].words,
        car.registration,
        repeat.category,
        Source.INSTALMENT if made_from else Source.REPEAT,
        (made_from.payments if made_from else repeat.payments) or 0,
        pauses=bool(kind and kind.is_hire and plan and plan.hire_pauses),
        has_choice=bool(kind and kind.has_choice_of_end),
    )
