"""What each category grows with."""

import pytest

from costing.core.catalogue.costs import COST_CATEGORIES, Driver


@pytest.mark.parametrize(
    ("driver", "names"),
    [
        (Driver.MILES, {"servicing", "repairs", "tyres", "fuel"}),
        (Driver.HOURS, {"cleaning", "parking_tolls"}),
    ],
)
def test_what_grows_with_use_is_named_and_the_rest_runs_by_days(driver: Driver, names: set[str]) -> None:
    assert {name for name, row in COST_CATEGORIES.items() if row.driver is driver} == names
