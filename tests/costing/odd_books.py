"""Books in which something stands out, for the tests of its pages: as of Monday 16 March 2026."""

from datetime import date, timedelta
from typing import Any

from costing.models import CostEntry
from fleet.models import Car
from tests.factories import CostEntryFactory, FillFactory

TODAY = date(2026, 3, 16)


def insure(car: Car, *, until: date = date(2026, 3, 9), **more: Any) -> CostEntry:
    """Insurance for a year, which ended a week ago."""
    return CostEntryFactory.create(
        car=car,
        category="insurance",
        amount="640.00",
        paid_on=date(2025, 3, 10),
        covers_from=date(2025, 3, 10),
        covers_to=until,
        **more,
    )


def fall(car: Car, **more: Any) -> None:
    """Thirty full tanks every five days until today, and six more that went an eighth less far."""
    miles = [400, 404, 396, 402, 398] * 6 + [350, 352, 348, 351, 349, 350]
    first, shown = TODAY - timedelta(days=5 * len(miles)), 50_000
    for number, far in enumerate([0, *miles]):
        shown += far
        FillFactory.create(
            car=car, filled_on=first + timedelta(days=5 * number), odometer=shown, quantity="40.000", **more
        )
