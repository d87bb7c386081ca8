"""A comparison's money as drawings: parts in their groups' tones that add up, what leaving costs, the odds."""

from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import given, reject, settings

from costing.choosing.core.case import Case, EarlyExit, Offer, Running
from costing.choosing.core.chances import Odds
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.choosing.pictures import charts
from costing.choosing.pictures.odds import odds_chart, odds_rows
from costing.choosing.pictures.table import OfferColumn, columns_of
from costing.choosing.report import OffersReport
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.costs import CostGroup
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing import cases

ALL = frozenset(RUNNING_PARTS)
USE = cases.USE._replace(months=24, leaving=())


def report_of(*offers: Offer, running: Running = cases.UNTOLD) -> OffersReport:
    return OffersReport(Case(USE, running, offers))


def columns(*offers: Offer, running: Running = cases.UNTOLD) -> list[OfferColumn]:
    return columns_of(report_of(*offers, running=running).figures)


def bought(name: str, price: int, value: int | None = 0, *untold: str) -> Offer:
    return Offer(name, "owned", price=price, value_now=price, value_at_horizon=value, includes=ALL - {*untold})


def rented(name: str, payment: int, payments: int, **fields: object) -> Offer:
    terms: dict = {"damage": 0, "includes": ALL} | fields
    return Offer(name, "contract_hire", payment=payment, payments=payments, **terms)


def leaving(*offers: Offer) -> charts.Leaving:
    report = report_of(*offers)
    letters = {offer.name: "ABCDEFGH"[index] for index, offer in enumerate(offers)}
    return charts.leaving_picture(report, columns_of(report.figures, letters), letters)


def drawn(column: OfferColumn) -> dict[CostGroup, int]:
    pence: Counter[CostGroup] = Counter()
    for group, amount in charts.amounts_of(column):
        pence[group] += amount
    return pence


@settings(deadline=None)
@given(cases.cases(1))
def test_what_is_drawn_of_an_offer_adds_up_to_what_is_told(case: Case) -> None:
    try:
        [column] = columns_of(OffersReport(case).figures)
    except CannotBeHandedBack:
        reject()  # no document may plan that
    assert sum(drawn(column).values()) == column.figures.told


@pytest.mark.parametrize("kind", AGREEMENT_KINDS)
def test_a_running_cost_is_drawn_with_the_group_that_it_is_logged_under(kind: str) -> None:
    [column] = columns_of(OffersReport(cases.case(cases.SAMPLE_OF[kind], months=24)).figures)
    by_group: Counter[CostGroup] = Counter()
    for part in RUNNING_PARTS.values():
        by_group[part.category.group] += column.figures.flow.parts.get(part.name, 0)
    of_car = {CostGroup.VALUE, CostGroup.FINANCE}
    assert {group: pence for group, pence in drawn(column).items() if group not in of_car and pence} == {
        group: pence for group, pence in by_group.items() if pence
    }


def test_what_a_bought_car_loses_is_apart_from_what_its_credit_costs() -> None:
    credit = Offer(
        "Credit",
        "hire_purchase",
        price=9_000_00,
        deposit=1_000_00,
        payment=400_00,
        payments=24,
        value_at_horizon=4_000_00,
    )
    [column] = columns(credit)
    assert drawn(column)[CostGroup.VALUE] == 5_000_00
    assert drawn(column)[CostGroup.FINANCE] == 1_600_00


def test_a_car_that_goes_back_is_drawn_as_hired() -> None:
    [column] = columns(rented("Rent", 250_00, 24))
    assert drawn(column)[CostGroup.VALUE] == 0
    assert drawn(column)[CostGroup.FINANCE] == 6_000_00
    chart = charts.money_chart([column])
    assert chart is not None
    assert [part.words for part in chart.bars[0].parts] == ["Hire"]
    assert chart.title == "The largest part of all is A’s rental, £6k"


def test_a_price_whose_car_may_fetch_any_sum_is_called_a_price() -> None:
    chart = charts.money_chart(columns(bought("One", 5_000_00, None, "repairs", "tyres")))
    assert chart is not None
    [bar] = chart.bars
    assert [(part.words, part.pence) for part in bar.parts] == [("Price", 5_000_00)]
    assert bar.untold == "2 more"
    assert chart.title == "The largest part of what is told is A’s price, less what the car fetches, £5k"


def test_a_picture_of_nothing_is_not_drawn() -> None:
    assert charts.money_chart(columns(bought("Sold for as much", 5_000_00, 5_000_00))) is None


def test_tones_never_follow_rank() -> None:
    for offers in ((1_000_00, 3_000_00), (3_000_00, 1_000_00)):
        found = leaving(*(bought(f"At {price}", price) for price in offers))
        assert [line.letter for line in found.chart.lines] == ["A", "B"]


def test_the_picture_of_leaving_says_who_has_cost_the_least_and_when() -> None:
    # The car loses the same share every month: most in the first. A month's rent is 250.
    car, rent = bought("Own", 6_000_00, 1_500_00), rented("Rent", 200_00, 1, then="rolls")
    found = leaving(car, rent)
    lines = found.chart.lines
    assert [line.pence[-1] for line in lines] == [4_500_00, 4_800_00]
    crossed = next(month for month in range(24) if lines[0].pence[month] < lines[1].pence[month]) + 1
    assert found.chart.title == f"The least if you leave: B in months 1 to {crossed - 1}; A in months {crossed} to 24"
    assert [row.label for row in found.rows] == ["Month 1", "Month 6", "Month 12", "Month 18", "Month 24"]


def test_where_a_term_ends_the_line_leaps_and_the_months_beside_it_stand_in_the_table() -> None:
    found = leaving(rented("Rent", 200_00, 9, then="rolls", deposit=0), bought("Own", 9_000_00))
    rent = found.chart.lines[0]
    assert (rent.jumps, found.has_jumps) == (frozenset({9}), True)
    # Until its term ends, nobody has told what leaving it costs.
    assert rent.open_months == frozenset(range(1, 9))
    assert found.has_open
    assert {"Month 8", "Month 9"} <= {row.label for row in found.rows}
    assert found.rows[0].cells[0] == ("200", "not all told", "", False)
    [band] = found.chart.bands
    assert (band.low[0], band.high[0]) == (200_00, 200_00 + 8 * 200_00)
    assert band.words == ("band: what leaving A", "early may come to")


def test_of_months_in_which_nobody_can_say_it_is_said() -> None:
    found = leaving(rented("Rent", 60_00, 12, then="rolls"), bought("Own", 5_000_00, 3_000_00))
    assert "nobody can say in month" in found.chart.title
    unsold = leaving(bought("One", 5_000_00, None), bought("Other", 5_000_00, None))
    assert unsold.chart.title == "Nobody can say yet which costs the least"
    alone = leaving(bought("One", 5_000_00))
    assert alone.chart.title == "What A has cost if you leave then"


def test_a_change_from_one_to_nobody_and_back_is_not_called_a_change_of_offer() -> None:
    # Whatever the early end costs, the rent of a term is less than the car has lost by the last months of each.
    rent, own = rented("Rent", 95_00, 6, then="renew"), bought("Own", 6_000_00, 3_500_00)
    found = leaving(rent, own)
    words = "A has cost the least whenever it can be said: nobody can say in "
    assert found.chart.title.startswith(words)
    assert found.chart.title.endswith(" of 24 months")
    flat = rented("Dear at first", 0, 24, deposit=1_500_00, early_exit=EarlyExit("weeks", Fraction(0)))
    words = "Which one has cost the least changes with the month in which you leave; nobody can say in "
    assert leaving(rent, own, flat).chart.title.startswith(words)


def test_what_is_left_out_of_every_line_is_named() -> None:
    found = leaving(bought("One", 5_000_00, 0, "fuel", "repairs"), bought("Other", 4_000_00, 0, "fuel", "repairs"))
    assert found.left_out == "Repairs and fuel are in none of these figures."
    assert not found.has_open
    found = leaving(bought("One", 5_000_00, 0, "fuel"), bought("Other", 4_000_00))
    assert found.left_out == ""


def test_the_room_of_the_offer_that_leads_is_its_band() -> None:
    found = leaving(bought("One", 3_000_00, 0, "repairs"), bought("Other", 5_400_00))
    [band] = found.chart.bands
    assert band.words == ("band: A’s repairs,", "nothing to £100 a month")
    assert band.low[-1] == 3_000_00
    assert band.high[-1] == 5_400_00
    [band] = leaving(bought("One", 3_000_00, 0, "mot"), bought("Other", 5_400_00)).chart.bands
    assert band.words == ("band: A’s MOT,", "nothing to £2,400")
    # Room that doesn't make an offer the cheapest of all is not drawn.
    assert leaving(bought("A", 5_000_00, 0, "repairs"), bought("B", 5_400_00), bought("C", 1_000_00)).chart.bands == ()


def test_the_finding_is_of_all_offers_also_of_those_that_are_not_drawn() -> None:
    report = report_of(bought("Dear", 5_000_00), bought("Cheap", 1_000_00))
    letters = {"Dear": "A", "Cheap": "B"}
    found = charts.leaving_picture(report, columns_of(report.figures, letters)[:1], letters)
    assert found.chart.title == "Of both offers, B has cost the least whenever you leave"
    assert [line.letter for line in found.chart.lines] == ["A"]
    three = report_of(bought("Dear", 5_000_00), bought("Cheap", 1_000_00, None), bought("Third", 9_000_00, None))
    letters["Third"] = "C"
    found = charts.leaving_picture(three, columns_of(three.figures, letters)[:2], letters)
    assert found.chart.title.startswith("Of all 3 offers, nobody can say yet")


def test_the_odds_are_drawn_and_told_for_each_offer_under_its_letter() -> None:
    odds = [
        Odds("Dear", Fraction(1, 1000), 3_000_00, 2_000_00, 3_000_00, 4_100_00),
        Odds("Cheap", Fraction(999, 1000), 1_000_00, 900_00, 1_000_00, 1_200_00),
    ]
    letters = {"Cheap": "A", "Dear": "B"}
    chart = odds_chart(odds, letters)
    assert {(one.letter, one.low, one.high) for one in chart.ranges} == {
        ("A", 900_00, 1_200_00),
        ("B", 2_000_00, 4_100_00),
    }
    assert chart.title == "A is the cheapest in over 99% of the draws"
    rows = {row.name: row[2:] for row in odds_rows(odds, letters)}
    assert rows["Dear"] == ("under 1%", "£2,000", "£4,100")
