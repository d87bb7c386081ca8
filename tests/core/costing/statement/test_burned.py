"""What was burned: by the days of the fills, as their money, and all of the fuel."""

from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from costing.core.catalogue.costs import FUEL
from costing.core.records import CarBook, Cost, Fill, Keeping, Period, Service, Unit
from costing.core.running_cost import running_cost
from costing.statement.core.burned import Burned, burned, is_measured
from tests.core.costing.books import books, periods

MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))


def fill(on: date, litres: int, pence: int, unit: Unit = "litre") -> Fill:
    return Fill(on, 20_000 + (on - date(2027, 1, 1)).days * 40, litres * 1_000, unit, pence, True, False)


#: 40 litres for the ten days to 5 March, of which five are in it, then 30 for the ten to 15 March, and 12 kWh.
BOOK = CarBook(
    service=Service(date(2027, 1, 1), None),
    fills=(
        fill(date(2027, 2, 23), 35, 4_500),
        fill(date(2027, 3, 5), 40, 5_300),
        fill(date(2027, 3, 15), 30, 4_200),
        fill(date(2027, 3, 20), 12, 0, "kwh"),
    ),
    costs=(Cost(date(2027, 3, 9), "repairs", 9_000),),
)


def test_a_fill_is_burned_over_the_days_that_its_money_pays_for() -> None:
    assert burned([BOOK], MARCH) == {"litre": Burned(2_650 + 4_200, 20_000 + 30_000), "kwh": Burned(0, 12_000)}


def test_several_cars_burn_together() -> None:
    assert burned([BOOK, BOOK], MARCH)["litre"] == Burned(13_700, 100_000)
    assert burned([], MARCH) == {}


def test_a_member_burns_what_they_paid_for_inside_their_own_time() -> None:
    own = BOOK._replace(whose=1, keepings=(Keeping(1, date(2027, 3, 4), None),))
    # All of the fills before the first day count on it, and the two days of the next that were theirs.
    assert burned([own], MARCH)["litre"] == Burned(4_500 + 5_300 + 4_200, 35_000 + 40_000 + 30_000)


def test_nothing_was_burned_before_the_first_fill() -> None:
    assert burned([BOOK], Period(date(2027, 1, 1), date(2027, 1, 31))) == {}


def test_fuel_is_measured_if_all_its_money_has_a_quantity() -> None:
    assert is_measured(500, {"litre": Burned(500, 3_000)})
    assert is_measured(0, {})
    assert not is_measured(500, {})
    assert not is_measured(500, {"litre": Burned(500, 0)})
    assert not is_measured(501, {"litre": Burned(500, 3_000)})


@given(st.lists(books(), min_size=1, max_size=2), periods())
def test_the_money_of_what_was_burned_is_the_fuel_of_the_running_cost(cars: list[CarBook], period: Period) -> None:
    costs = [running_cost(book, period, depreciation_rate=Decimal("0.15")) for book in cars]
    found = burned(cars, period)
    assert sum(one.pence for one in found.values()) == sum(cost.by_category.get(FUEL.name, 0) for cost in costs)
    assert all(one.thousandths >= 0 for one in found.values())
