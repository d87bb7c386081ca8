"""Writing down the tread of a car's tyres, and which tyre went where."""

from collections.abc import Collection, Mapping
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from config import showing
from config.history import delete_as, save_as
from fleet.actions.acts import note_act
from fleet.actions.odometer import lock_car, record_reading, refuse_future
from fleet.models import Car, TreadReading, TyreMove, Wheel
from instructors.models import Member

Depths = tuple[Decimal, Decimal, Decimal]


@transaction.atomic
def record_tread(
    *, by: Member, car: Car, read_on: date, wheels: Mapping[str, Depths], odometer: int | None = None
) -> list[TreadReading]:
    """Write down the tread in mm, inner, centre and outer, of each of ``wheels`` on ``read_on``.

    Read again on the same day, a wheel is corrected; the same again changes nothing. ``odometer`` is kept as the
    car's reading of that day. Raises ValidationError on the field that is wrong, on ``wheels`` if there is none.
    """
    refuse_future("read_on", read_on)
    if not wheels:
        raise ValidationError({"wheels": "Give the tread of one wheel at least."})
    car = lock_car(car)
    if odometer is not None:
        record_reading(by=by, car=car, read_on=read_on, miles=odometer, field="odometer")
    written = [_read(by, car, wheel, read_on, depths) for wheel, depths in wheels.items()]
    if any(is_new for _, is_new in written):
        note_act(by, car, "tread_read", showing.day(read_on))
    return [reading for reading, _ in written]


@transaction.atomic
def replace_tyres(*, by: Member, car: Car, moved_on: date, wheels: Collection[str]) -> None:
    """Write down that new tyres were fitted at ``wheels``: how they wear is counted from there.

    The same again changes nothing. Raises ValidationError on the field that is wrong.
    """
    refuse_future("moved_on", moved_on)
    if not wheels:
        raise ValidationError({"wheels": "Say at which wheels new tyres were fitted."})
    car = lock_car(car)
    recorded = _moves_of(car, moved_on)
    _refuse_impossible({wheel: row.came_from for wheel, row in recorded.items()} | dict.fromkeys(wheels, ""))
    _move(by, car, moved_on, dict.fromkeys(wheels, ""), recorded)


@transaction.atomic
def rotate_tyres(*, by: Member, car: Car, moved_on: date, moves: Mapping[str, str]) -> None:
    """Write down all that went where on ``moved_on``: by wheel, the one its tyre came from, empty for a new tyre.

    What was recorded of that day and is not among ``moves`` is taken back; the same again changes nothing.
    Raises ValidationError on ``moved_on``, or on ``moves`` if they cannot be: no tyre comes from two wheels, none
    leaves a wheel bare, and a tyre fitted new that day did not come from another wheel.
    """
    refuse_future("moved_on", moved_on)
    car = lock_car(car)
    recorded = _moves_of(car, moved_on)
    if not moves and not recorded:
        raise ValidationError({"moves": "No tyre was moved."})
    _refuse_impossible(moves)
    for wheel, row in recorded.items():
        if not row.came_from and moves.get(wheel):
            where, day = Wheel(wheel).label.lower(), showing.day(moved_on)
            raise ValidationError(
                {"moves": f"A new tyre was fitted {where} on {day}: say so for that wheel, and what the others got."}
            )
    _move(by, car, moved_on, moves, recorded, taken_back=recorded.keys() - moves.keys())


def _read(by: Member, car: Car, wheel: str, read_on: date, depths: Depths) -> tuple[TreadReading, bool]:
    """What was read of a wheel, and whether that is anything new."""
    found = TreadReading.objects.filter(car=car, wheel=wheel, read_on=read_on).first()
    reading = found or TreadReading(car=car, wheel=wheel, read_on=read_on)
    if found and (found.inner, found.centre, found.outer) == depths:
        return found, False
    reading.inner, reading.centre, reading.outer = depths
    reading.by = by
    try:
        reading.clean_fields()
    except ValidationError as refusal:
        raise ValidationError({wheel: refusal.messages}) from refusal
    save_as(by, reading)
    return reading, True


def _moves_of(car: Car, moved_on: date) -> dict[str, TyreMove]:
    return {row.wheel: row for row in TyreMove.objects.filter(car=car, moved_on=moved_on)}


def _refuse_impossible(moves: Mapping[str, str]) -> None:
    """Refuse moves of one day that no four tyres can have made."""
    sources = [source for source in moves.values() if source]
    for source in sources:
        words = Wheel(source).label.lower()
        if sources.count(source) > 1:
            raise ValidationError({"moves": f"The tyre from {words} cannot have gone to two wheels."})
        if source not in moves:
            raise ValidationError({"moves": f"The tyre from {words} was moved: say what was fitted there instead."})


def _move(
    by: Member,
    car: Car,
    moved_on: date,
    moves: Mapping[str, str],
    recorded: Mapping[str, TyreMove],
    *,
    taken_back: Collection[str] = (),
) -> None:
    changed = {
        wheel: came_from
        for wheel, came_from in moves.items()
        if wheel not in recorded or recorded[wheel].came_from != came_from
    }
    for wheel in taken_back:
        delete_as(by, recorded[wheel])
    for wheel, came_from in changed.items():
        row = recorded.get(wheel, TyreMove(car=car, wheel=wheel, moved_on=moved_on))
        row.came_from, row.by = came_from, by
        row.clean_fields()
        save_as(by, row)
    if changed or taken_back:
        note_act(by, car, "tyres_moved", showing.day(moved_on))
