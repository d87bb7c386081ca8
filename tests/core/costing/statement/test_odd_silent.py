"""What has stopped coming: lessons, a regular cost, a service."""

from datetime import date, timedelta

import pytest

from costing.core.records import Agreement, CarBook, Cost, Keeping, Logged, Reading, Service, Teaching
from costing.statement.core.odd import Finding, Kind, odd

TODAY = date(2028, 3, 16)
SINCE = date(2027, 3, 1)


def book(**more: object) -> CarBook:
    return CarBook(Service(date(2026, 1, 1), None))._replace(**more)


def found(held: CarBook, kind: Kind) -> list[Finding]:
    return [one for one in odd(held, TODAY) if one.kind is kind]


# --- Lessons ------------------------------------------------------------------------------------------------

TAUGHT = Teaching(date(2028, 2, 1), date(2028, 2, 20), 20, 1_500, 0)


def driven(miles: int, read_on: date = TODAY) -> tuple[Reading, ...]:
    return Reading(TAUGHT.to_on, 40_000), Reading(read_on, 40_000 + miles)


def test_no_lessons_while_the_odometer_moves_stands_out() -> None:
    assert found(book(teaching=(TAUGHT,), readings=driven(249)), Kind.LESSONS) == []
    (one,) = found(book(teaching=(TAUGHT,), readings=driven(250)), Kind.LESSONS)
    assert (one.key, one.first, one.last, one.is_open) == ("2028-02-20", TAUGHT.to_on, TODAY, True)
    assert dict(one.figures) == {"miles": 250, "days": 25}


def test_two_weeks_are_a_holiday() -> None:
    assert found(book(teaching=(TAUGHT,), readings=driven(900, date(2028, 3, 5))), Kind.LESSONS) == []
    assert len(found(book(teaching=(TAUGHT,), readings=driven(900, date(2028, 3, 6))), Kind.LESSONS)) == 1


def test_lessons_in_another_car_or_to_come_count_and_a_colleagues_do_not() -> None:
    held = book(teaching=(TAUGHT,), readings=driven(900), whose=1)
    own = Logged(1, TAUGHT.from_on, TAUGHT.to_on)
    assert len(found(held._replace(logged=(own, Logged(2, TODAY, TODAY))), Kind.LESSONS)) == 1
    assert found(held._replace(logged=(own, Logged(1, TODAY, TODAY))), Kind.LESSONS) == []
    assert found(held._replace(logged=(own, Logged(1, TODAY, TODAY + timedelta(days=3)))), Kind.LESSONS) == []
    assert len(found(held._replace(logged=(own,), whose=None), Kind.LESSONS)) == 1


def test_without_lessons_readings_or_the_car_nothing_is_asked() -> None:
    assert found(book(readings=driven(900)), Kind.LESSONS) == []
    assert found(book(teaching=(TAUGHT,)), Kind.LESSONS) == []
    gone = book(teaching=(TAUGHT,), readings=driven(900), service=Service(date(2026, 1, 1), date(2028, 3, 15)))
    assert found(gone, Kind.LESSONS) == []
    taken_over = (Keeping(2, date(2026, 1, 1), date(2028, 2, 21)), Keeping(1, date(2028, 2, 22), None))
    logged = (Logged(1, TAUGHT.from_on, TAUGHT.to_on),)
    assert found(book(readings=driven(900), whose=1, keepings=taken_over, logged=logged), Kind.LESSONS) == []


# --- Regular costs ------------------------------------------------------------------------------------------


def paid(category: str, *days: int, pence: int = 1_200, **more: object) -> tuple[Cost, ...]:
    """Costs so many days before today."""
    return tuple(Cost(TODAY - timedelta(days=ago), category, pence)._replace(**more) for ago in days)


MONTHLY = (200, 170, 139, 109, 78, 48)


def test_a_cost_that_came_regularly_and_has_stopped_stands_out() -> None:
    (one,) = found(book(costs=paid("cleaning", *MONTHLY)), Kind.SILENT)
    assert (one.about, one.key) == ("cleaning", f"cleaning:{TODAY - timedelta(days=48)}")
    assert (one.first, one.last, one.is_open) == (TODAY - timedelta(days=48), TODAY, True)
    assert dict(one.figures) == {"days": 48, "usual": 30}


@pytest.mark.parametrize(
    "ago",
    [
        pytest.param((197, 167, 136, 106, 75, 45), id="not late enough: half as much again"),
        pytest.param((170, 139, 109, 78, 48), id="too few"),
        pytest.param((300, 290, 200, 190, 120, 100), id="never regular"),
    ],
)
def test_what_is_not_late_or_never_regular_does_not(ago: tuple[int, ...]) -> None:
    assert found(book(costs=paid("cleaning", *ago)), Kind.SILENT) == []


def test_refunds_and_what_covers_days_or_miles_are_not_counted() -> None:
    for more in (
        {"pence": -1_200},
        {"covers_from": SINCE, "covers_to": TODAY},
        {"covers_miles": 20_000},
    ):
        assert found(book(costs=paid("cleaning", *MONTHLY, **more)), Kind.SILENT) == []


def test_nothing_is_asked_of_a_car_that_was_given_up() -> None:
    gone = Service(date(2026, 1, 1), TODAY - timedelta(days=1))
    assert found(book(costs=paid("cleaning", *MONTHLY), service=gone), Kind.SILENT) == []


def test_instalments_stop_with_their_agreement() -> None:
    costs = paid("finance", *MONTHLY)
    held = Agreement(date(2027, 1, 1), "hire_purchase", price=900_000, payment=20_000, payments=12)
    later = held._replace(starts_on=TODAY + timedelta(days=1))
    assert len(found(book(costs=costs), Kind.SILENT)) == 1
    assert found(book(costs=costs, agreements=(held,)), Kind.SILENT) == []
    assert len(found(book(costs=costs, agreements=(held._replace(payments=24),)), Kind.SILENT)) == 1
    assert len(found(book(costs=costs, agreements=(held._replace(payments=0),)), Kind.SILENT)) == 1
    assert found(book(costs=costs, agreements=(held, later)), Kind.SILENT) == []
    other = paid("cleaning", *MONTHLY)
    assert len(found(book(costs=other, agreements=(held,)), Kind.SILENT)) == 1


# --- Servicing ----------------------------------------------------------------------------------------------


def year(miles: int, first: date = SINCE) -> tuple[Reading, ...]:
    return Reading(first, 40_000), Reading(TODAY, 40_000 + miles)


def test_a_year_of_many_miles_without_a_service_stands_out() -> None:
    assert found(book(readings=year(14_999)), Kind.SERVICING) == []
    (one,) = found(book(readings=year(15_000)), Kind.SERVICING)
    assert (one.key, one.first, one.last, one.is_open) == ("45000", SINCE, TODAY, True)
    assert dict(one.figures) == {"miles": 15_000}


def test_dismissed_it_is_asked_again_after_as_many_miles() -> None:
    keys = [found(book(readings=year(miles)), Kind.SERVICING)[0].key for miles in (15_000, 19_999, 20_000)]
    assert keys == ["45000", "45000", "60000"]


def test_a_service_a_hire_or_a_car_taken_over_lately_is_not_asked_about() -> None:
    held = book(readings=year(20_000))
    assert found(held._replace(costs=(Cost(SINCE, "servicing", 18_000),)), Kind.SERVICING) == []
    assert len(found(held._replace(costs=(Cost(date(2027, 2, 28), "servicing", 18_000),)), Kind.SERVICING)) == 1
    hired = Agreement(date(2026, 1, 1), "contract_hire", payment=30_000, payments=36)
    assert found(held._replace(agreements=(hired,)), Kind.SERVICING) == []
    assert found(held._replace(service=Service(date(2027, 3, 2), None)), Kind.SERVICING) == []
    assert found(held._replace(service=Service(date(2026, 1, 1), date(2028, 3, 1))), Kind.SERVICING) == []
    assert found(book(), Kind.SERVICING) == []
