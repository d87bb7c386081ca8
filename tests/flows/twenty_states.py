"""Twenty states of one car, each with the verdict and the reasons, worst first, that every place must give."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from fleet.core.verdict import Verdict
from fleet.models import Car
from tests.factories import (
    ConfirmationFactory,
    DefectFactory,
    DueItemFactory,
    OdometerReadingFactory,
    TreadReadingFactory,
)

TODAY = date(2026, 3, 16)
OFF, NOT_KNOWN, DUE, NOTHING = Verdict


class CarState(NamedTuple):
    """What is recorded of a car in order, besides; ``due`` has days left by kind, None: nothing is recorded."""

    name: str
    verdict: Verdict
    reasons: tuple[str, ...] = ()
    due: dict[str, int | None] = {}
    records: tuple[Callable[[Car], Any], ...] = ()
    booked_in: dict[str, int] = {}


def put_in_book(state: CarState, car: Car) -> None:
    """Record the state of ``car``, which is in order otherwise: MOT, insurance and tax in date, the cover confirmed."""
    days: dict[str, int | None] = {"mot": 200, "insurance": 200, "vehicle_tax": 200} | state.due
    for kind, left in days.items():
        if left is not None:
            booked = state.booked_in.get(kind)
            booked_for = None if booked is None else TODAY + timedelta(days=booked)
            DueItemFactory(car=car, kind=kind, due_on=TODAY + timedelta(days=left), booked_for=booked_for)
    for record in state.records:
        record(car)


def _defect(severity: str) -> Callable[[Car], Any]:
    return lambda car: DefectFactory(car=car, severity=severity, description=f"Found {severity[:5]}")


def _bald(car: Car) -> None:
    TreadReadingFactory(car=car, inner=Decimal("1.5"))


def _no_tuition(car: Car) -> None:
    ConfirmationFactory(car=car, is_met=False)


def _first_mot_today(car: Car) -> None:
    Car.objects.filter(pk=car.pk).update(first_registered=date(2023, 3, 16), in_service_from=date(2024, 1, 8))


def _for_a_trainee(car: Car) -> None:
    car.confirmations.update(grade="PDI")


def _past_by_forecast(car: Car) -> None:
    for day, miles in ((date(2025, 11, 11), 46_200), (date(2026, 2, 9), 48_000)):
        OdometerReadingFactory(car=car, read_on=day, miles=miles)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=48_100)


def _read_past(car: Car) -> None:
    _past_by_forecast(car)
    OdometerReadingFactory(car=car, read_on=TODAY, miles=48_700)


STATES = (
    CarState("nothing recorded against it", NOTHING),
    CarState("dangerous", OFF, ("dangerous",), {}, (_defect("dangerous"),)),
    CarState("before the next lesson", OFF, ("before_next_lesson",), {}, (_defect("before_next_lesson"),)),
    CarState("to be watched", DUE, (), {}, (_defect("watch"),)),
    CarState("illegal tyre", OFF, ("tread",), {}, (_bald,)),
    CarState("MOT ran out", OFF, ("mot",), {"mot": -1}),
    CarState("insurance ran out", OFF, ("insurance",), {"insurance": -40}),
    CarState("tax ran out", OFF, ("vehicle_tax",), {"vehicle_tax": -90}),
    CarState("insured without tuition", OFF, ("cover",), {}, (_no_tuition,)),
    CarState("MOT ran out and booked", OFF, ("mot",), {"mot": -3}, (), {"mot": 4}),
    CarState("MOT due and booked", DUE, (), {"mot": 10}, (), {"mot": 4}),
    CarState("booked day has passed", DUE, (), {"mot": 10}, (), {"mot": -1}),
    CarState("last day of the MOT", DUE, (), {"mot": 0}),
    CarState("first MOT day by rule", OFF, ("mot",), {"mot": None}, (_first_mot_today,)),
    CarState("no MOT recorded, came later", NOT_KNOWN, (), {"mot": None}),
    CarState("no tax recorded", NOT_KNOWN, (), {"vehicle_tax": None, "service": -40}),
    CarState("policy confirmed for another grade", NOT_KNOWN, (), {}, (_for_a_trainee,)),
    CarState("service past by forecast alone", DUE, (), {}, (_past_by_forecast,)),
    CarState("service past by a reading", DUE, (), {}, (_read_past,)),
    CarState(
        "everything at once",
        OFF,
        ("dangerous", "tread", "mot", "insurance", "before_next_lesson"),
        {"mot": -1, "insurance": -9},
        (_defect("watch"), _defect("before_next_lesson"), _bald, _defect("dangerous")),
    ),
)
