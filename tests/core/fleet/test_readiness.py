from datetime import date, timedelta

from fleet.core.due import DueRecord, due_status, statuses_of_car
from fleet.core.odometer import Odometer
from fleet.core.readiness import off_the_road_reasons

TODAY = date(2026, 3, 16)
YESTERDAY = TODAY - timedelta(days=1)


def reasons(*records: DueRecord) -> tuple[str, ...]:
    found = off_the_road_reasons(due_status(record, TODAY, Odometer([])) for record in records)
    return tuple(reason.name for reason in found)


def test_overdue_mot_tax_and_insurance_take_the_car_off_the_road() -> None:
    recorded = [DueRecord(kind, YESTERDAY) for kind in ("insurance", "service", "mot", "vehicle_tax")]
    assert reasons(*recorded) == ("mot", "vehicle_tax", "insurance")


def test_the_due_day_itself_is_a_good_day() -> None:
    assert reasons(DueRecord("mot", TODAY)) == ()
    assert reasons(DueRecord("mot", YESTERDAY)) == ("mot",)


def test_a_booking_does_not_put_the_car_back_on_the_road() -> None:
    assert reasons(DueRecord("mot", YESTERDAY, booked_for=TODAY)) == ("mot",)


def test_other_overdue_items_do_not() -> None:
    late = [DueRecord(kind, YESTERDAY) for kind in ("service", "tyres", "dual_controls", "breakdown_cover", "other")]
    assert reasons(*late) == ()


def test_unknown_is_shown_but_is_no_reason() -> None:
    statuses = statuses_of_car([], first_registered=None, nation="GB", on=TODAY, odometer=Odometer([]))
    assert {status.state for status in statuses} == {"unknown"}
    assert off_the_road_reasons(statuses) == ()
