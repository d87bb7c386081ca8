from datetime import date, timedelta
from decimal import Decimal

from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import CarFacts, DueRecord, due_status, statuses_of_car
from fleet.core.odometer import Odometer
from fleet.core.readiness import NO_TUITION_COVER, TREAD, Condition, OffRoadReason, gravity, off_the_road_reasons
from fleet.core.tread import Depth

TODAY = date(2026, 3, 16)
YESTERDAY = TODAY - timedelta(days=1)


def reasons(*records: DueRecord) -> tuple[str, ...]:
    found = off_the_road_reasons(due_status(record, TODAY, Odometer([])) for record in records)
    return tuple(reason.name for reason in found)


def test_overdue_mot_tax_and_insurance_take_the_car_off_the_road() -> None:
    recorded = [DueRecord(kind, YESTERDAY) for kind in ("insurance", "service", "mot", "vehicle_tax")]
    assert reasons(*recorded) == ("mot", "insurance", "vehicle_tax")


def test_what_ran_out_is_told_with_its_last_good_day() -> None:
    status = due_status(DueRecord("vehicle_tax", YESTERDAY), TODAY, Odometer([]))
    assert off_the_road_reasons([status]) == (OffRoadReason("vehicle_tax", since=YESTERDAY),)


def test_the_due_day_itself_is_a_good_day() -> None:
    assert reasons(DueRecord("mot", TODAY)) == ()
    assert reasons(DueRecord("mot", YESTERDAY)) == ("mot",)


def test_a_booking_does_not_put_the_car_back_on_the_road_and_is_told_with_the_reason() -> None:
    status = due_status(DueRecord("mot", YESTERDAY, booked_for=TODAY), TODAY, Odometer([]))
    assert off_the_road_reasons([status]) == (OffRoadReason("mot", since=YESTERDAY, booked_for=TODAY),)


def test_a_first_mot_that_nobody_recorded_is_told_as_such() -> None:
    facts = CarFacts(date(2023, 3, 16), date(2024, 1, 1), "GB", Odometer([]))
    assert off_the_road_reasons(statuses_of_car([], facts, TODAY)) == (
        OffRoadReason("mot", since=TODAY, is_by_rule=True),
    )


def test_other_overdue_items_do_not() -> None:
    late = [DueRecord(kind, YESTERDAY) for kind in ("service", "tyres", "dual_controls", "breakdown_cover", "other")]
    assert reasons(*late) == ()


def test_unknown_is_shown_but_is_no_reason() -> None:
    statuses = statuses_of_car([], CarFacts(None, TODAY, "GB", Odometer([])), TODAY)
    assert {status.state for status in statuses} == {"unknown"}
    assert off_the_road_reasons(statuses) == ()


def defect(key: int, severity: Severity, found_on: date = YESTERDAY) -> OpenDefect:
    return OpenDefect(key, severity, f"defect {key}", found_on)


def test_defects_stop_the_car_the_gravest_first_and_what_is_watched_does_not() -> None:
    found = (
        defect(1, Severity.WATCH),
        defect(2, Severity.BEFORE_NEXT_LESSON),
        defect(4, Severity.DANGEROUS),
        defect(3, Severity.DANGEROUS),
        defect(5, Severity.DANGEROUS, YESTERDAY - timedelta(days=1)),
    )
    stopping = off_the_road_reasons([], Condition(defects=found))
    assert [(reason.name, reason.defect) for reason in stopping] == [
        ("dangerous", 5),
        ("dangerous", 3),
        ("dangerous", 4),
        ("before_next_lesson", 2),
    ]
    assert stopping[0] == OffRoadReason("dangerous", "defect 5", YESTERDAY - timedelta(days=1), 5)


def test_a_tread_below_the_law_stops_the_car_by_its_wheel_and_day() -> None:
    low = Depth("rear_left", YESTERDAY, Decimal("1.5"), Decimal("2.4"), Decimal("2.2"))
    assert off_the_road_reasons([], Condition(unlawful_treads=(low,))) == (
        OffRoadReason(TREAD, "rear_left", YESTERDAY),
    )


def test_insurance_found_not_to_cover_tuition_stops_the_car() -> None:
    uncovered = off_the_road_reasons([], Condition(no_tuition_cover_on=YESTERDAY))
    assert uncovered == (OffRoadReason(NO_TUITION_COVER, since=YESTERDAY),)


def test_every_reason_is_told_what_is_dangerous_before_what_ran_out() -> None:
    low = Depth("rear_left", YESTERDAY, Decimal("1.5"), Decimal("2.4"), Decimal("2.2"))
    condition = Condition((defect(1, Severity.DANGEROUS),), (low,), YESTERDAY)
    overdue = due_status(DueRecord("mot", YESTERDAY), TODAY, Odometer([]))
    told = [reason.name for reason in off_the_road_reasons([overdue], condition)]
    assert told == ["dangerous", TREAD, "mot", NO_TUITION_COVER]


def test_reasons_by_gravity_life_before_law_before_lessons() -> None:
    names = ["dangerous", TREAD, "mot", "insurance", "vehicle_tax", NO_TUITION_COVER, "before_next_lesson"]
    shuffled = [OffRoadReason(name) for name in sorted(names)]
    assert [reason.name for reason in sorted(shuffled, key=gravity)] == names
