"""Usual costs that the months of a plan have nothing of: named only where they would be expected."""

from datetime import date

import pytest

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.periods import months_ending, months_within
from costing.core.records import Agreement, CarBook, Cost, Keeping, Period, Service
from costing.planning.core.unlogged import unlogged

YEAR = months_within(months_ending(date(2026, 10, 1), 12))
ALL = ("insurance", "vehicle_tax", "servicing", "tyres")
ME, ANOTHER = 1, 2


def book(*costs: Cost, kind: str = "owned", **changes: object) -> CarBook:
    """One's own car since 2024, held by a kind of agreement."""
    held = (Agreement(date(2024, 1, 1), kind),)
    mine = CarBook(Service(date(2024, 1, 1), None), costs=costs, agreements=held, whose=ME, as_of=date(2026, 11, 20))
    return mine._replace(keepings=(Keeping(ME, date(2024, 1, 1), None),))._replace(**changes)


def test_a_year_without_them_lacks_all_four() -> None:
    assert unlogged([book()], YEAR, {"fuel"}) == ALL


def test_what_cost_something_in_the_months_is_there_whenever_it_was_paid() -> None:
    assert unlogged([book()], YEAR, {"insurance", "tyres", "fuel"}) == ("vehicle_tax", "servicing")


@pytest.mark.parametrize(
    ("paid_on", "is_there"), [(date(2025, 10, 31), False), (date(2025, 11, 1), True), (date(2026, 11, 1), False)]
)
def test_a_cost_of_nought_is_logged(paid_on: date, is_there: bool) -> None:
    nothing = Cost(paid_on, "vehicle_tax", 0)
    assert ("vehicle_tax" not in unlogged([book(nothing)], YEAR, ())) is is_there


def test_fewer_months_may_lack_what_comes_now_and_then() -> None:
    assert unlogged([book()], YEAR[1:], ()) == ("insurance", "vehicle_tax")


@pytest.mark.parametrize("kind", AGREEMENT_KINDS)
def test_what_a_hire_often_pays_for_is_not_named(kind: str) -> None:
    asked = {"contract_hire": ("insurance",), "weekly_rental": ()}.get(kind, ALL)
    assert unlogged([book(kind=kind)], YEAR, ()) == asked


def test_what_one_car_has_is_not_said_to_be_nowhere() -> None:
    assert unlogged([book(), book(kind="weekly_rental")], YEAR, ()) == ()
    assert unlogged([book(), book(Cost(date(2026, 5, 1), "tyres", 40_000))], YEAR, ()) == ALL[:3]


def test_a_car_on_loan_or_of_another_time_is_not_asked_about() -> None:
    others, own = Period(date(2024, 1, 1), date(2026, 4, 30)), Period(date(2026, 5, 1), date(2026, 5, 20))
    loan = book(keepings=(Keeping(ANOTHER, *others), Keeping(ME, *own)))
    assert unlogged([loan], YEAR, ()) == ()
    later = book(service=Service(date(2026, 11, 1), None))
    assert unlogged([later], YEAR, ()) == ()
    assert unlogged([], [Period(date(2026, 10, 1), date(2026, 10, 31))], ()) == ()
