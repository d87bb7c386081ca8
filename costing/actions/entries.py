"""Logging a fill, a cost or lessons; correcting and voiding entries."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar, cast

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import showing
from config.history import add_all_as, put, save_as
from config.pictures import Page
from costing.actions.cover import cover_bought, move_cover
from costing.actions.in_place import give_back, give_back_unless_it_fits, pay_in_place
from costing.actions.receipts import keep_receipts
from costing.models import Agreement, Batch, CostEntry, Dismissal, Entry, Fill, Repeat, TeachingRecord, Valuation
from fleet.actions import NOTHING_ASKED, Answers, answer_about_policy, check_reading, lock_car
from fleet.core.odometer import Reading
from fleet.models import Car
from fleet.queries import has_had, keeperships_of, written_readings_of
from instructors.models import Member

#: What is said of a reference that somebody else has used.
OUT_OF_DATE = "This page is out of date: reload it and log that again."

AnyEntry = TypeVar("AnyEntry", bound=Entry)


def log_fill(
    *,
    by: Member,
    car: Car,
    ref: str,
    filled_on: date,
    odometer: int,
    quantity: Decimal,
    unit: str,
    amount: Decimal,
    brimmed: bool = True,
    gap_before: bool = False,
    batch: Batch | None = None,
    found_right: str = "",
    receipt: Sequence[Page] = (),
) -> tuple[Fill, bool]:
    """Log fuel or charge bought, in pounds and litres or kWh, with the pages of its receipt.

    Returns the fill and whether it is new; a ``ref`` that was logged before returns that entry. Raises ValidationError
    if the odometer would fall.
    """
    fill = Fill(
        filled_on=filled_on,
        odometer=odometer,
        quantity=quantity,
        unit=unit,
        amount=amount,
        brimmed=brimmed,
        gap_before=gap_before,
        batch=batch,
        found_right=found_right,
    )

    def keep() -> None:
        if receipt:
            keep_receipts(by=by, entry=fill, pages=receipt)

    return _log(fill, by=by, car=car, ref=ref, then=keep)


def log_cost(
    *,
    by: Member,
    car: Car,
    ref: str,
    paid_on: date,
    category: str,
    amount: Decimal,
    covers_from: date | None = None,
    covers_to: date | None = None,
    covers_miles: int | None = None,
    ended_on: date | None = None,
    supplier: str = "",
    note: str = "",
    answers: Answers = NOTHING_ASKED,
    batch: Batch | None = None,
    found_right: str = "",
    in_place_of: str = "",
    receipt: Sequence[Page] = (),
) -> tuple[CostEntry, bool]:
    """Log a sum paid, or refunded if negative, in pounds, with the pages of its receipt.

    Returns the entry and whether it is new; a ``ref`` that was logged before returns that entry. Insurance, vehicle tax
    or breakdown cover moves the car's due item on to the last day covered. ``answers`` say what a policy covers. It may
    be paid ``in_place_of`` a payment of a repeat, named by its reference.
    """
    cost = CostEntry(
        paid_on=paid_on,
        category=category,
        amount=amount,
        covers_from=covers_from,
        covers_to=covers_to,
        covers_miles=covers_miles,
        ended_on=ended_on,
        supplier=supplier,
        note=note,
        batch=batch,
        found_right=found_right,
    )

    def answer_settle_and_keep() -> None:
        answer_about_policy(by=by, car=cost.car, answers=answers)
        if in_place_of:
            pay_in_place(by=by, cost=cost, of=in_place_of)
        if receipt:
            keep_receipts(by=by, entry=cost, pages=receipt)

    return _log(cost, by=by, car=car, ref=ref, then=answer_settle_and_keep)


def log_teaching(
    *,
    by: Member,
    car: Car,
    ref: str,
    from_on: date,
    to_on: date,
    lesson_count: int | None,
    minutes: int | None,
    private_miles: int | None,
    batch: Batch | None = None,
    found_right: str = "",
) -> tuple[TeachingRecord, bool]:
    """Log lessons, minutes taught and private miles over a span of days, both counted; None is not known.

    ``batch`` is what it is saved with. Returns the record and whether it is new; a ``ref`` that was logged before
    returns that record.
    """
    record = TeachingRecord(
        from_on=from_on,
        to_on=to_on,
        lesson_count=lesson_count,
        minutes=minutes,
        private_miles=private_miles,
        batch=batch,
        found_right=found_right,
    )
    return _log(record, by=by, car=car, ref=ref)


@transaction.atomic
def correct_entry(*, by: Member, entry: AnyEntry, changes: Mapping[str, Any]) -> AnyEntry:
    """Change fields of one of ``by``'s own entries; its history keeps what they were.

    Raises ValidationError if the entry is voided. Writes nothing if nothing differs.
    """
    car, current = _locked(entry, by)
    if current.voided_at is not None:
        raise ValidationError("This entry was voided: log it again if it was right after all.", code="voided")
    before, was_read = cover_bought(current), reading_of(current)
    changed = put(current, changes)
    if not changed:
        return current
    check_odometer(current, car, ignoring=was_read)
    save_as(by, current, *changed, reason="Corrected")
    move_cover(by=by, car=car, before=before, after=cover_bought(current))
    if isinstance(current, CostEntry):
        give_back_unless_it_fits(by=by, cost=current)
    return current


def void_entry(*, by: Member, entry: AnyEntry, reason: str) -> AnyEntry:
    """Void one of ``by``'s own entries, so that it no longer counts. Voiding it again changes nothing."""
    return end_entry(by=by, entry=entry, reason=f"Voided: {reason}")


@transaction.atomic
def end_entry(*, by: Member, entry: AnyEntry, reason: str, replaced_by: Batch | None = None) -> AnyEntry:
    """Void one of ``by``'s own entries, with the whole reason as its history says it, for what stands in its place."""
    car, current = _locked(entry, by)
    if current.voided_at is None:
        before = cover_bought(current)
        current.voided_at, current.replaced_by = timezone.now(), replaced_by
        save_as(by, current, "voided_at", "replaced_by", reason=reason)
        move_cover(by=by, car=car, before=before, after=None)
        if isinstance(current, CostEntry):
            give_back(by=by, cost=current)
    return current


def require_keeper(car: Car, by: Member) -> None:
    """Refuse anybody who is not the car's keeper."""
    if car.keeper_id != by.pk:
        raise ValidationError({"car": "Only the car's keeper can log on it."}, code="not_keeper")


def require_time(car: Car, by: Member, entry: Entry) -> None:
    """Refuse anybody who never kept the car; a former keeper logs the days of their own time, and any bill for it."""
    if car.keeper_id == by.pk:
        return
    times = [time for time in keeperships_of(car) if time.keeper_id == by.pk]
    if not times:
        raise ValidationError({"car": "Only the car's keeper can log on it."}, code="not_keeper")
    if isinstance(entry, TeachingRecord):
        days = (entry.from_on, entry.to_on)
        if not any(time.holds(day) for time in times for day in days):
            raise ValidationError({"from_on": "Somebody else kept the car on these days."}, code="not_keeper")


def _refuse_past_handover(car: Car, fill: Fill) -> None:
    """Refuse a fill that shows more than the car did when it was handed over: the miles since then are another's."""
    own = [time for time in keeperships_of(car) if time.keeper_id == fill.member_id]
    ended_on = next((time.last for time in own if time.holds(fill.filled_on)), None)
    then = ended_on and written_readings_of(car).filter(read_on=ended_on).first()
    if then and fill.odometer > then.miles:
        words = f"When you handed the car over it showed {showing.whole(then.miles)} miles."
        raise ValidationError({"odometer": words}, code="past_handover")


def require_own(row: Entry | Agreement | Valuation | Batch | Repeat | Dismissal, by: Member) -> None:
    """Raise PermissionError for anybody else's record; views answer 404 before that."""
    if row.member_id != by.pk:
        raise PermissionError("only whoever made a record may change it")


def _nothing() -> None:
    """Nothing follows an entry."""


def _log(
    entry: AnyEntry, *, by: Member, car: Car, ref: str, then: Callable[[], None] = _nothing
) -> tuple[AnyEntry, bool]:
    """Log an entry unless its ``ref`` is known. What is to be done ``then`` is done with it or not at all."""
    try:
        with transaction.atomic():
            # The lock makes a second tap wait for the first, so that it meets the entry.
            car = lock_car(car)
            require_time(car, by, entry)
            entry.car, entry.member, entry.ref = car, by, ref
            check_odometer(entry, car)
            add_all_as(by, [entry], "Logged")
            move_cover(by=by, car=car, before=None, after=cover_bought(entry))
            then()
    except (IntegrityError, ValidationError):
        # The unique column tells a reference that was sent before, so that only what is sent again is looked for. It
        # may be refused sooner than that, for what has become of the first.
        if first := _logged_before(type(entry), by, ref):
            return first, False
        raise
    return entry, True


def _logged_before(model: type[AnyEntry], by: Member, ref: str) -> AnyEntry | None:
    first = model._default_manager.filter(ref=ref).first()
    if first and first.member_id != by.pk:
        raise ValidationError(OUT_OF_DATE, code="ref_of_another")
    return cast(AnyEntry | None, first)


def _locked(entry: AnyEntry, by: Member) -> tuple[Car, AnyEntry]:
    """Return the car and the present entry, both locked until the transaction ends."""
    car = lock_car(entry.car)
    current = cast(AnyEntry, type(entry)._default_manager.get(pk=entry.pk))
    require_own(current, by)
    current.car = car
    return car, current


def reading_of(entry: Entry) -> Reading | None:
    return Reading(entry.filled_on, entry.odometer) if isinstance(entry, Fill) else None


def check_odometer(
    entry: Entry, car: Car, *, ignoring: Reading | None = None, among: Sequence[Reading] | None = None
) -> None:
    """Refuse a fill that would make the car's odometer fall; other entries have no reading.

    Also refuse one on a day when somebody else kept the car, because it would change their miles. ``among``
    are the car's readings, oldest first, if they are read already.
    """
    shown = reading_of(entry)
    if shown is not None and shown != ignoring:
        if not has_had(car, entry.member, shown.read_on):
            raise ValidationError({"filled_on": "Somebody else kept the car on that day."}, code="not_keeper")
        if isinstance(entry, Fill) and car.keeper_id != entry.member_id:
            _refuse_past_handover(car, entry)
        check_reading(entry.member, car, shown.read_on, shown.miles, ignoring, field="odometer", among=among)
