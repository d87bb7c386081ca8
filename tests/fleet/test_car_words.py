"""How a car stands, in sentences and as a road; and the ways back of one that is off the road."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.models import Car
from fleet.queries import CarDue, due_report
from fleet.views.car_words import road_of, sentences_of, ways_back_of, whys_of
from tests.factories import ConfirmationFactory, DefectFactory, DueItemFactory, TreadReadingFactory

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 16)


def due_on(car: Car) -> CarDue:
    [found] = due_report(TODAY, cars=[car]).cars
    return found


def covered(car: Car, **days_left: int) -> None:
    """MOT, insurance and tax are in date, each for a year or for as many days as given."""
    for kind in ("mot", "insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind, due_on=TODAY + timedelta(days=days_left.get(kind, 365)))


def sentences(car: Car) -> list[tuple[str, str]]:
    return [(one.words, one.state) for one in sentences_of(due_on(car), TODAY)]


def test_nothing_is_against_a_car_only_if_nothing_recorded_asks_for_anything(car: Car) -> None:
    covered(car)
    assert sentences(car) == [("Nothing against QA51\xa0ABC", "later")]
    DefectFactory(car=car, severity="watch", description="Wiper smears")
    assert sentences(car) == [("Keep an eye on: Wiper smears", "due")]


def test_what_is_not_known_comes_first_then_what_is_late_due_booked_and_watched(car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on=TODAY + timedelta(days=24))
    DueItemFactory(car=car, kind="service", due_on=TODAY - timedelta(days=3))
    DueItemFactory(car=car, kind="dual_controls", due_on=TODAY + timedelta(days=90), booked_for=date(2026, 3, 27))
    DefectFactory(car=car, severity="watch", description="Wiper smears")
    assert sentences(car) == [
        ("Not known: insurance, vehicle tax", "unknown"),
        ("Service was due 3 days ago", "overdue"),
        ("MOT runs out in 24 days", "due"),
        ("Dual controls inspection booked for 27 March", "booked"),
        ("Keep an eye on: Wiper smears", "due"),
    ]


def test_the_road_is_closed_while_the_car_is_off_it(car: Car) -> None:
    covered(car, mot=24)
    road = road_of(due_on(car), TODAY)
    assert (road.title, road.is_closed) == ("MOT runs out in 24 days", False)
    assert [(item.words, item.state) for item in road.items] == [("MOT", "due")]
    DefectFactory(car=car, severity="dangerous")
    closed = road_of(due_on(car), TODAY)
    assert (closed.title, closed.is_closed) == ("QA51\xa0ABC is off the road", True)


def test_reasons_and_ways_back_come_gravest_first_and_bookings_last(car: Car) -> None:
    covered(car, mot=-3, vehicle_tax=-1)
    ConfirmationFactory(car=car, is_met=False, confirmed_on=date(2026, 3, 9))
    TreadReadingFactory(car=car, inner=Decimal("1.5"))
    pedal = DefectFactory(car=car, severity="before_next_lesson", description="Pedal rubber torn")
    hose = DefectFactory(car=car, severity="dangerous", description="Brake hose weeps, and more than that can be said")
    due = due_on(car)
    item = {line.kind.name: line.item_id for line in due.items}
    assert [why.title for why in whys_of(due)] == [
        "Brake hose weeps, and more than that can be said",
        "Front left tyre: less than 1.6 mm of tread",
        "MOT ran out",
        "Vehicle tax ran out",
        "The insurance does not cover driving tuition",
        "Pedal rubber torn",
    ]
    assert [(way.words, way.address) for way in ways_back_of(due)] == [
        ("Put right: Brake hose weeps, and more than …", reverse("fleet:defect-close", args=[hose.pk])),
        ("New tyres fitted: at which wheels?", reverse("fleet:tyres-replaced", args=[car.registration])),
        ("MOT passed: until when?", reverse("fleet:due-item-complete", args=[item["mot"]])),
        ("Vehicle tax renewed: until when?", reverse("fleet:due-item-complete", args=[item["vehicle_tax"]])),
        ("Insured for tuition now", reverse("fleet:due-item-correct", args=[item["insurance"]])),
        ("Put right: Pedal rubber torn", reverse("fleet:defect-close", args=[pedal.pk])),
        ("Book the MOT", reverse("fleet:due-item-book", args=[item["mot"]])),
    ]


def test_the_one_defect_need_not_be_named_on_its_key(car: Car) -> None:
    covered(car)
    DefectFactory(car=car, severity="dangerous")
    assert [way.words for way in ways_back_of(due_on(car))] == ["Defect put right: by whom?"]
