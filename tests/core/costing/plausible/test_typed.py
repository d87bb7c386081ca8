"""An entry's figures become whole pence, thousandths and days; refunds and part fills count for what they are."""

from datetime import date
from decimal import Decimal

from costing.core.plausible import typed
from costing.core.plausible.running import Running
from tests.core.costing.plausible.test_cost import TODAY
from tests.core.costing.plausible.test_cost import typed as typed_cost
from tests.core.costing.plausible.test_fill import asked, known, taps
from tests.core.costing.plausible.test_fill import typed as typed_fill
from tests.core.costing.plausible.test_week import asked as asked_of_week
from tests.core.costing.plausible.test_week import of_week, reasons


def test_a_fill() -> None:
    figures = {
        **{"filled_on": date(2026, 11, 26), "odometer": 41_870, "unit": "litre", "brimmed": True, "gap_before": False},
        **{"amount": Decimal("51.90"), "quantity": Decimal("36.2")},
    }
    assert typed.fill(figures) == typed_fill()


def test_a_cost_and_a_refund() -> None:
    figures = {"category": "cleaning", "amount": Decimal("15.90"), "paid_on": date(2026, 11, 26)}
    assert typed.cost(figures) == typed_cost()
    assert typed.cost(figures | {"amount": Decimal("-15.90")}) == typed_cost(refund="on")
    covered = {"covers_from": date(2026, 12, 1), "covers_to": date(2027, 11, 30)}
    assert typed.cost(figures | covered)["covers_to"] == "2027-11-30"
    assert typed.cost(figures | {"covers_from": None})["covers_from"] is None


def test_lessons() -> None:
    figures = {"from_on": date(2026, 11, 16), "to_on": date(2026, 11, 22), "lesson_count": 26, "minutes": 1_950}
    told = typed.lessons(figures | {"private_miles": None})
    assert (told["from_on"], told["to_on"], told["minutes"], told["private_miles"]) == (
        "2026-11-16",
        "2026-11-22",
        1_950,
        None,
    )


def test_a_refund_is_no_sum_that_is_usual() -> None:
    book = Running("petrol", TODAY)
    book.add("cost", typed_cost(refund="on"))
    assert book.limits("cost")["categories"]["cleaning"]["seen"] == []


def test_a_part_fill_is_not_asked_whether_it_is_one() -> None:
    found = asked(typed_fill(odometer=43_400, brimmed=""), known())
    assert found
    assert {"brimmed": ""} not in taps(found)


def test_too_many_lessons_without_hours() -> None:
    assert reasons(asked_of_week(of_week(66, hours=None))) == ["lessons_day", "hours_day"]
