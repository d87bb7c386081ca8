"""What counts in a period: the entries add up to the true cost and to the money out, to the penny."""

from collections import Counter
from datetime import date
from decimal import Decimal

from hypothesis import given

from costing.core.catalogue.costs import DEPRECIATION, INTEREST, RENTAL
from costing.core.records import CarBook, Cost, Fill, Keeping, Period, Service
from costing.core.running_cost import running_cost
from costing.core.spent import Spent
from costing.statement.core.entries import counted
from tests.core.costing.books import books, periods

FEBRUARY = Period(date(2027, 2, 1), date(2027, 2, 28))
_HELD = {INTEREST.name, RENTAL.name, DEPRECIATION.name}


@given(books(), periods())
def test_entries_are_true_cost_and_money_out_to_the_penny(book: CarBook, period: Period) -> None:
    cost = running_cost(book, period, depreciation_rate=Decimal("0.15"))
    found = counted(Spent(book), period, "QA51ABC")
    added: Counter[str] = Counter()
    for one in found:
        assert one.pence or one.paid
        added[one.category] += one.pence
    of_entries = {name: pence for name, pence in cost.by_category.items() if name not in _HELD}
    assert {name: pence for name, pence in added.items() if pence} == of_entries
    assert sum(one.paid for one in found) == cost.money_out


def test_a_sum_may_count_in_true_cost_in_money_out_or_in_both() -> None:
    year = Cost(date(2027, 1, 1), "insurance", 91_137, date(2027, 1, 1), date(2027, 12, 31), key=7)
    fill = Fill(date(2027, 2, 28), 48_000, 34_500, "litre", 4_792, True, False, key=9)
    instalment = Cost(date(2027, 2, 1), "finance", 20_000, key=8)
    to_come = Cost(date(2027, 2, 20), "vehicle_tax", 19_500, date(2027, 3, 1), date(2028, 2, 29), key=10)
    book = CarBook(Service(date(2027, 1, 1), None), costs=(year, instalment, to_come), fills=(fill,))
    assert [
        (one.record.key, one.category, one.pence, one.paid) for one in counted(Spent(book), FEBRUARY, "QA51ABC")
    ] == [
        (7, "insurance", 6_991, 0),
        (8, "finance", 0, 20_000),
        (10, "vehicle_tax", 0, 19_500),
        (9, "fuel", 4_792, 4_792),
    ]
    assert counted(Spent(book), Period(date(2026, 2, 1), date(2026, 2, 28)), "QA51ABC") == []


def test_what_is_paid_on_the_bounds_of_a_period_counts_and_a_day_beside_them_does_not() -> None:
    days = [date(2027, 1, 31), date(2027, 2, 1), date(2027, 2, 28), date(2027, 3, 1)]
    costs = tuple(Cost(day, "repairs", 100, key=key) for key, day in enumerate(days, 1))
    book = CarBook(Service(date(2027, 1, 1), None), costs=costs)
    assert [(one.record.key, one.paid) for one in counted(Spent(book), FEBRUARY, "QA51ABC")] == [(2, 100), (3, 100)]


def test_of_a_car_that_the_member_never_kept_nothing_counts() -> None:
    paid = (Cost(date(2027, 2, 10), "repairs", 4_400),)
    book = CarBook(Service(date(2027, 1, 1), None), costs=paid, keepings=(Keeping(1, date(2027, 1, 1), None),), whose=2)
    assert counted(Spent(book), FEBRUARY, "QA51ABC") == []
    assert [one.paid for one in counted(Spent(book._replace(whose=1)), FEBRUARY, "QA51ABC")] == [4_400]


def test_two_entries_that_are_alike_are_two() -> None:
    pair = tuple(Cost(date(2027, 2, 10), "other", 100, key=None) for _ in range(2))
    book = CarBook(Service(date(2027, 1, 1), None), costs=pair)
    found = [(one.on, one.pence, one.paid) for one in counted(Spent(book), FEBRUARY, "QA51ABC")]
    assert found == [(date(2027, 2, 10), 100, 100)] * 2
