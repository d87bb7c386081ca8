"""One report of what falls due, for page, mail and command."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date, timedelta
from typing import Any

import pytest

from fleet.actions import ensure_due_item
from fleet.core.odometer import Pace
from fleet.models import Car
from fleet.queries import CarDue, cars_of, due_report
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CooperativeFactory,
    DefectFactory,
    DueItemFactory,
    FillFactory,
    MemberFactory,
    OdometerReadingFactory,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 16)


def by_kind(car: CarDue) -> dict[str, Any]:
    return {line.kind.name: line for line in car.items}


def test_a_car_with_nothing_recorded_is_listed_as_unknown_and_not_as_fine(car: Car) -> None:
    [due] = due_report(TODAY).cars
    assert {line.kind.name: str(line.status.state) for line in due.items} == {
        "mot": "unknown",
        "vehicle_tax": "unknown",
        "insurance": "unknown",
    }
    assert (due.registration, due.off_the_road, due.reasons) == ("QA51ABC", False, ())


def test_an_overdue_mot_takes_the_car_off_the_road(car: Car) -> None:
    item = DueItemFactory.create(car=car, due_on=date(2026, 3, 15))
    [due] = due_report(TODAY).cars
    assert (due.off_the_road, [reason.name for reason in due.reasons]) == (True, ["mot"])
    assert due.items[0].item_id == item.pk
    [yesterday] = due_report(date(2026, 3, 15)).cars
    assert not yesterday.off_the_road


def test_a_first_mot_goes_by_rule_and_nation_with_or_without_a_row(car: Car) -> None:
    car.first_registered = date(2023, 4, 1)
    car.save()
    CooperativeFactory.create(nation="NI")
    [due] = due_report(TODAY).cars
    mot = by_kind(due)["mot"]
    assert (mot.status.due_on, mot.item_id, mot.status.is_by_rule) == (date(2027, 4, 1), None, True)
    place = ensure_due_item(by=None, car=car, kind="mot")
    [due] = due_report(TODAY).cars
    assert by_kind(due)["mot"].status == mot.status
    assert (by_kind(due)["mot"].item_id, by_kind(due)["mot"].status.is_by_rule) == (place.pk, True)
    place.due_on = date(2026, 9, 1)
    place.save()
    assert not by_kind(due_report(TODAY).cars[0])["mot"].status.is_by_rule


def test_readings_and_fills_together_make_the_forecast(car: Car) -> None:
    OdometerReadingFactory.create(car=car, read_on=TODAY - timedelta(days=120), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=TODAY - timedelta(days=90), miles=41_000)
    FillFactory.create(car=car, filled_on=TODAY, odometer=42_800)
    FillFactory.create(car=car, filled_on=TODAY + timedelta(days=3), odometer=50_000)
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=43_000)
    service = by_kind(due_report(TODAY).cars[0])["service"].status
    assert service.forecast_on == TODAY + timedelta(days=10)  # 200 miles at 20 a day
    assert service.forecast.last_read_on == TODAY


def test_a_mileage_passed_long_ago_is_dated_by_the_whole_history(car: Car) -> None:
    for days, miles in ((400, 40_000), (300, 41_000), (200, 42_000), (0, 43_000)):
        OdometerReadingFactory.create(car=car, read_on=TODAY - timedelta(days=days), miles=miles)
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=40_500)
    service = by_kind(due_report(TODAY).cars[0])["service"].status
    assert (service.state, service.days_left) == ("overdue", -350)


def test_a_reading_long_ago_still_has_the_one_90_days_before_it(car: Car) -> None:
    # 20 miles a day until 200 days ago: 42,000 were reached 150 days ago, as far as anybody can foretell.
    for days, miles in ((380, 37_400), (290, 39_200), (200, 41_000)):
        OdometerReadingFactory.create(car=car, read_on=TODAY - timedelta(days=days), miles=miles)
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=42_000)
    service = by_kind(due_report(TODAY).cars[0])["service"].status
    assert (service.state, service.days_left) == ("due", -150)
    assert service.forecast.pace == Pace(1_800, 90, TODAY - timedelta(days=200))


def test_the_cars_come_worst_first(car: Car, colleague_car: Car) -> None:
    DefectFactory.create(car=car, severity="before_next_lesson")
    DefectFactory.create(car=colleague_car, severity="dangerous")
    assert [due.registration for due in due_report(TODAY).cars] == ["QB02XYZ", "QA51ABC"]


def test_cars_out_of_service_and_members_who_left_are_not_in_it(car: Car, keeper: Member) -> None:
    CarFactory.create(registration="QA51OLD", in_service_to=date(2026, 3, 15))
    MemberFactory.create(left_on=date(2026, 3, 15))
    report = due_report(TODAY, members=[keeper])
    assert report.cars == ()
    report = due_report(TODAY)
    assert [due.registration for due in report.cars] == ["QA51ABC"]
    assert "QA51OLD" in {due.registration for due in due_report(date(2026, 3, 15)).cars}
    assert all(due.member.left_on is None for due in report.members)


def test_credentials_stand_under_their_member(keeper: Member, colleague: Member) -> None:
    DueItemFactory.create(car=None, member=keeper, kind="driving_licence", due_on=date(2026, 8, 1))
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 5, 1))
    of = {due.member: due.items for due in due_report(TODAY).members}
    assert [(line.kind.name, str(line.status.state)) for line in of[keeper]] == [
        ("adi_registration", "due"),
        ("driving_licence", "later"),
    ]
    assert of[colleague] == ()


def test_only_what_was_asked_for_is_in_it(car: Car, colleague_car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration")
    report = due_report(TODAY, cars=cars_of(keeper))
    assert ([due.car for due in report.cars], report.members) == ([car], ())


def test_closed_items_are_over(car: Car) -> None:
    DueItemFactory.create(car=car, kind="other", closed_on=TODAY)
    assert "other" not in by_kind(due_report(TODAY).cars[0])


def test_all_lines_come_worst_first(car: Car, colleague_car: Car) -> None:
    DueItemFactory.create(car=colleague_car, kind="insurance", due_on=date(2026, 3, 1))
    DueItemFactory.create(car=car, kind="service", due_on=date(2026, 1, 1))
    DueItemFactory.create(car=car, due_on=date(2026, 3, 15))
    lines = due_report(TODAY).lines()
    assert [(line.subject.key, line.kind.name) for line in lines[:3]] == [
        ("QA51ABC", "mot"),
        ("QB02XYZ", "insurance"),
        ("QB02XYZ", "mot"),
    ]


def test_a_note_names_an_item_of_no_other_kind(car: Car) -> None:
    DueItemFactory.create(car=car, kind="other", note="Roof bars back to the shop")
    DueItemFactory.create(car=car, kind="mot", note="at the usual place")
    titles = {line.kind.name: line.title for line in due_report(TODAY).cars[0].items}
    assert (titles["other"], titles["mot"]) == ("Roof bars back to the shop", "MOT")


def _fleet(count: int) -> None:
    for car in CarFactory.create_batch(count):
        OdometerReadingFactory.create(car=car, read_on=TODAY - timedelta(days=200), miles=40_000)
        FillFactory.create(car=car, filled_on=TODAY - timedelta(days=2), odometer=44_000)
        DueItemFactory.create(car=car)
        DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=45_000)
        DueItemFactory.create(car=car, kind="tyres", due_on=None, due_miles=39_000)
        DueItemFactory.create(car=None, member=car.keeper, kind="adi_registration")


@pytest.mark.parametrize("count", [1, 12])
def test_the_number_of_queries_does_not_grow_with_the_fleet(
    count: int, django_assert_num_queries: Callable[[int], AbstractContextManager[None]]
) -> None:
    _fleet(count)
    # Cars with keepers, members, due items, settings; readings and fills by one since 90 days ago; by one the whole
    # history of those cars that passed a mileage before that; and by one all that may keep a car off the road.
    with django_assert_num_queries(7):
        report = due_report(TODAY)
        assert len(report.lines()) == 6 * count
