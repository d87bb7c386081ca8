"""The entries behind a figure: what each adds, and that together they are the figure."""

from collections import Counter
from datetime import date
from decimal import Decimal

from hypothesis import given

from costing.core.catalogue.costs import DEPRECIATION, FUEL, INTEREST, RENTAL
from costing.core.parts import parts
from costing.core.records import CarBook, Cost, Fill, Period, Service
from costing.core.running_cost import running_cost
from costing.core.spent import Spent
from tests.core.costing.books import books, periods

_HELD = {INTEREST.name, RENTAL.name, DEPRECIATION.name}


@given(books(), periods())
def test_parts_are_the_figure_to_the_penny(book: CarBook, period: Period) -> None:
    cost = running_cost(book, period, depreciation_rate=Decimal("0.15"))
    added: Counter[str] = Counter()
    for record, pence, _ in parts(Spent(book), period):
        added[record.category if isinstance(record, Cost) else FUEL.name] += pence
    of_entries = {name: pence for name, pence in cost.by_category.items() if name not in _HELD}
    assert {name: pence for name, pence in added.items() if pence} == of_entries


def test_a_year_of_cover_is_a_part_of_each_of_its_months() -> None:
    year = Cost(date(2027, 1, 1), "insurance", 91_137, date(2027, 1, 1), date(2027, 12, 31), key=7)
    fill = Fill(date(2027, 2, 28), 48_000, 34_500, "litre", 4_792, True, False, key=9)
    instalment = Cost(date(2027, 2, 1), "finance", 20_000, key=8)
    book = CarBook(Service(date(2027, 1, 1), None), costs=(year, instalment), fills=(fill,))
    found = parts(Spent(book), Period(date(2027, 2, 1), date(2027, 2, 28)))
    # 59 days are used by the end of February, 31 before it: 14,731 and 7,740 pence.
    assert [(record.key, pence) for record, pence, _ in found] == [(7, 6_991), (8, 0), (9, 4_792)]
    assert all(pence == 0 for _, pence, _ in parts(Spent(book), Period(date(2026, 2, 1), date(2026, 2, 28))))
