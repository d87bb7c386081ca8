"""What each category grows with, and what an address calls those that are drawn together."""

import pytest

from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup, Driver, asked_for, categories_asked_for


@pytest.mark.parametrize(
    ("driver", "names"),
    [
        (Driver.MILES, {"servicing", "repairs", "tyres", "fuel"}),
        (Driver.HOURS, {"cleaning", "parking_tolls"}),
    ],
)
def test_what_grows_with_use_is_named_and_the_rest_runs_by_days(driver: Driver, names: set[str]) -> None:
    assert {name for name, row in COST_CATEGORIES.items() if row.driver is driver} == names


@pytest.mark.parametrize(
    ("group", "name", "categories"),
    [
        (CostGroup.SERVICE, "all-service", {"servicing", "repairs"}),
        (CostGroup.FUEL, "fuel", {"fuel"}),
        (CostGroup.INSURANCE, "insurance", {"insurance"}),
        (CostGroup.VALUE, "all-value", {"depreciation"}),
    ],
)
def test_a_group_is_asked_for_by_name(group: CostGroup, name: str, categories: set[str]) -> None:
    assert asked_for(group) == name
    assert categories_asked_for(name) == categories


def test_without_a_name_every_category_is_asked_for() -> None:
    assert categories_asked_for("") == set(COST_CATEGORIES)
