"""A comparison's money as drawings: parts in their groups' tones that add up, totals by month, the odds."""

from collections import Counter
from datetime import date
from fractions import Fraction
from itertools import accumulate

import pytest
from hypothesis import given, settings

from costing.choosing.core.case import Case, Offer, Running, Use
from costing.choosing.core.odds import Odds
from costing.choosing.document.reading import read_document
from costing.choosing.pictures import charts
from costing.choosing.pictures.odds_table import odds_rows
from costing.choosing.pictures.table import OfferColumn, columns_of
from costing.choosing.report import OffersReport
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.costs import CostGroup
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing import cases

USE = Use(date(2027, 1, 1), 24, Fraction(24_000), Fraction(0), Fraction(26), Fraction(46), 38_00)


def columns(*offers: Offer, running: Running | None = None) -> list[OfferColumn]:
    return columns_of(OffersReport(Case(USE, running or Running(), offers)))


def bought(name: str, price: int, value: int = 0) -> Offer:
    return Offer(name, "owned", price=price, value_at_horizon=value)


def drawn(column: OfferColumn) -> dict[CostGroup, int]:
    pence: Counter[CostGroup] = Counter()
    for group, amount in charts.amounts_of(column):
        pence[group] += amount
    return pence


def column_of(offer: cases.Table) -> OfferColumn:
    case = read_document({"use": cases.USE, "running": cases.RUNNING, "offer": [offer]}).case
    return columns_of(OffersReport(case))[0]


@settings(deadline=None)
@given(cases.any_offer)
def test_what_is_drawn_of_an_offer_adds_up_to_its_total(offer: cases.Table) -> None:
    column = column_of(offer)
    assert sum(drawn(column).values()) == column.figures.total


@pytest.mark.parametrize("kind", AGREEMENT_KINDS)
def test_a_running_cost_is_drawn_with_the_group_that_it_is_logged_under(kind: str) -> None:
    column = column_of(cases.SAMPLE_OF[kind])
    by_group: Counter[CostGroup] = Counter()
    for part in RUNNING_PARTS.values():
        by_group[part.category.group] += column.figures.flow.parts.get(part.name, 0)
    assert all(drawn(column)[group] == pence for group, pence in by_group.items())


def test_what_a_bought_car_loses_is_apart_from_what_its_credit_costs() -> None:
    credit = column_of(cases.PCP)
    assert drawn(credit)[CostGroup.VALUE] == 11_800_00 - 6_900_00
    assert 0 < drawn(credit)[CostGroup.FINANCE] < 3_000_00


def test_a_car_that_goes_back_is_drawn_as_hired() -> None:
    handed_back = cases.PCP | {"at_end": "hand_back", "payments": 24}
    for offer in (cases.RENTAL, handed_back):
        column = column_of(offer)
        assert drawn(column)[CostGroup.VALUE] == 0
        assert drawn(column)[CostGroup.FINANCE] > 0


def test_what_comes_back_is_taken_off_the_price() -> None:
    chart = charts.money_chart(columns(bought("Kept its value", 5_000_00, 4_000_00), bought("Lost it", 5_000_00)))
    assert chart is not None
    assert sorted(part.pence for bar in chart.bars for part in bar.parts) == [1_000_00, 5_000_00]
    letter = next(bar.letter for bar in chart.bars if bar.name == "Lost it")
    assert chart.title == f"The largest part of all is {letter}’s loss of value, £5k"


def test_the_largest_part_of_a_hired_car_is_its_rental() -> None:
    chart = charts.money_chart([column_of(cases.RENTAL)])
    assert chart is not None
    assert chart.title.startswith("The largest part of all is A’s rental, ")


def test_a_picture_of_nothing_is_not_drawn() -> None:
    assert charts.money_chart(columns(bought("Sold for as much", 5_000_00, 5_000_00))) is None


def test_the_running_totals_end_at_the_total_and_the_title_says_whose_is_least() -> None:
    two = columns(bought("Cheap", 2_000_00, 1_000_00), bought("Dear", 4_000_00, 1_000_00))
    chart = charts.running_chart(two)
    assert [line.pence for line in chart.lines] == [tuple(accumulate(one.figures.flow.months)) for one in two]
    cheap = next(one for one in two if one.name == "Cheap")
    assert chart.title == f"By the end {cheap.letter} has cost the least, £1k"


def test_the_odds_are_drawn_and_told_for_each_offer_under_its_letter() -> None:
    two = columns(bought("Cheap", 1_000_00), bought("Dear", 3_000_00))
    odds = [Odds("Dear", 0.001, 2_000_00, 3_000_00, 4_100_00), Odds("Cheap", 0.999, 900_00, 1_000_00, 1_200_00)]
    chart = charts.odds_chart(two, odds)
    letters = {one.name: one.letter for one in two}
    assert {(one.letter, one.low, one.high) for one in chart.ranges} == {
        (letters["Cheap"], 900_00, 1_200_00),
        (letters["Dear"], 2_000_00, 4_100_00),
    }
    assert chart.title == f"{letters['Cheap']} is the cheapest in over 99 % of the draws"
    rows = {row.name[-4:]: row[2:] for row in odds_rows(two, odds)}
    assert rows["Dear"] == ("under 1 %", "£2,000", "£4,100")
