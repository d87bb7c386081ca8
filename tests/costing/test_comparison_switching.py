"""What would change the answer, in sentences."""

import re
from fractions import Fraction

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.core.inputs import Place
from costing.choosing.core.switching import Switch
from costing.choosing.core.verdicts import PairVerdict
from costing.choosing.pictures.sentences import amount, pairs, thing
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import RENTAL, add_offers, pcp_and_rental, six_offers
from tests.costing.pages import HTMX, shown
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")

LETTERS = {"One": "A", "Other": "B"}


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-switching", args=[comparison.pk])


def switches(name: str, base: int, *values: int | tuple[int, int], offer: str = "") -> list[Switch]:
    """Rows of one input, as the core gives them: pence, miles, weeks or months."""
    found = [value if isinstance(value, tuple) else Fraction(value) for value in values]
    return [Switch("One", "Other", name, offer, Fraction(base), Fraction(0), Fraction(base) * 3, one) for one in found]


def said(rows: list[Switch], if_same: tuple[str, ...] = ()) -> list[str]:
    verdict = PairVerdict("One", "Other", "One", True, None, None, (), if_same)
    [pair] = pairs(rows, [verdict], LETTERS)
    return pair.changes


def test_nobody_else_sees_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_each_value_is_a_sentence(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    assert "A is cheaper than B B is cheaper if B’s payment is below £115. The plan has £141." in page
    assert "B is cheaper if you leave in months 1 to 7 or 15. The plan has month 30." in page
    nothing = page[page.index("What makes no difference") :]
    assert "repairs a year: anything from £0 to £1,290" in nothing
    assert "the miles in a year: anything from 0 miles to 78,000 miles" in nothing
    assert "fuel a mile: anything from 0.0p to 42.6p" in nothing


def test_limits_are_rounded_so_that_the_sentence_stays_true() -> None:
    value = "value_at_horizon"
    assert said(switches(value, 700_000, 391_189, offer="One")) == [
        "B is cheaper if what A’s car fetches at the end is below £3,911. The plan has £7,000."
    ]
    assert said(switches(value, 700_000, 891_101, offer="Other")) == [
        "B is cheaper if what B’s car fetches at the end is above £8,912. The plan has £7,000."
    ]
    assert said(switches("payment", 64_50, 40_25, offer="Other")) == [
        "B is cheaper if B’s payment is below £40.25. The plan has £64.50."
    ]


def test_a_limit_that_is_told_in_pence_stays_true_too() -> None:
    row = switches("payment", 64_50, 40_25, offer="Other")[0]
    assert said([row._replace(value=Fraction("4025.96"))]) == [
        "B is cheaper if B’s payment is below £40.25. The plan has £64.50."
    ]
    row = switches("pence_per_litre", 120, 150)[0]
    assert said([row._replace(value=Fraction("150.02"))]) == [
        "B is cheaper if the price of a litre is above 150.1p. The plan has 120.0p."
    ]
    assert said([row._replace(value=Fraction("100.09"))]) == [
        "B is cheaper if the price of a litre is below 100.0p. The plan has 120.0p."
    ]


def test_of_premiums_it_is_said_that_all_of_them_move() -> None:
    assert said(switches("insurance", 1_210_00, 1_906_59)) == [
        "B is cheaper if insurance in the first year, and in proportion in later years, is above £1,907. "
        "The plan has £1,210."
    ]


def test_repairs_are_many_whoever_pays_them() -> None:
    assert said(switches("repairs_per_year", 330_00, 700_00, offer="Other")) == [
        "B is cheaper if repairs a year for B are above £700. The plan has £330."
    ]


def test_nobody_leaves_in_month_0() -> None:
    nothing = Switch("One", "Other", "months", "", Fraction(36), Fraction(0), Fraction(108), None)
    verdict = PairVerdict("One", "Other", "One", True, None, None, (), ())
    [pair] = pairs([nothing], [verdict], LETTERS)
    assert pair.no_changes == ["the months until you leave: anything from 1 month to 108 months"]


def test_every_crossing_is_told_side_by_side() -> None:
    rows = switches("miles_per_year", 24_000, 30_000, 20_000, 41_000, 12_000)
    assert said(rows) == [
        "B is cheaper if the miles in a year are between 30,000 miles and 41,000 miles "
        "or between 12,000 miles and 20,000 miles. The plan has 24,000 miles."
    ]
    rows = switches("miles_per_year", 24_000, 30_000, 41_000, 50_000)
    assert said(rows) == [
        "B is cheaper if the miles in a year are between 30,000 miles and 41,000 miles or above 50,000 miles. "
        "The plan has 24,000 miles."
    ]


def test_weeks_and_months_are_told_from_the_first_to_the_last() -> None:
    assert said(switches("weeks_off", 0, 2)) == ["B is cheaper if you give no lessons for 2 weeks or more."]
    assert said(switches("weeks_off", 0, 1)) == ["B is cheaper if you give no lessons for a week or more."]
    assert said(switches("weeks_off", 0, 2, 6, 9, 10)) == [
        "B is cheaper if you give no lessons for 2 to 5 weeks.",
        "B is cheaper if you give no lessons for 9 weeks.",
    ]
    assert said(switches("months", 24, (13, 15), (1, 1))) == [
        "B is cheaper if you leave in months 1 or 13 to 15. The plan has month 24."
    ]


def test_where_both_cost_the_same_as_planned_it_is_said() -> None:
    assert said(switches("repairs_per_year", 400_00, 400_00)) == [
        "At £400, the figure planned for repairs a year, both cost the same."
    ]


def test_what_must_cost_the_same_stands_with_the_pair() -> None:
    verdict = PairVerdict("One", "Other", "One", True, None, None, (), ("fuel",))
    [pair] = pairs(switches("months", 24, (1, 2)), [verdict], LETTERS)
    assert pair.if_same == "if fuel costs the same for both"


def test_things_are_named_with_whose_they_are() -> None:
    assert thing(Place("insurance", "One"), LETTERS) == "insurance in the first year for A"
    assert thing(Place("pence_per_kwh"), LETTERS) == "the price of a kWh"
    assert thing(Place("value_at_horizon"), LETTERS) == "what each car fetches at the end"
    assert thing(Place("price", "Other"), LETTERS).endswith(" for B")
    assert amount(Place("months"), Fraction(1)) == "1 month"
    assert amount(Place("pence_per_litre"), Fraction("141.94")) == "141.9p"


def test_weeks_without_lessons_may_change_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    paused = RENTAL | {"payment": "143.00", "pauses_when_off": True}
    add_offers(comparison, ("weekly_rental", "Runs on", RENTAL), ("weekly_rental", "Pauses", paused))
    # 104 weeks at £2 more are made up for by two weeks at £143.
    assert "B is cheaper if you give no lessons for 2 weeks or more." in shown(everyone["keeper"], address(comparison))


def test_pairs_with_the_cheapest_come_before_the_others(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(six_offers(keeper)))
    first, others = page.split("Between the other offers")
    # Six offers make fifteen pairs, five of them with the cheapest, which is the one owned outright.
    assert (first.count(" is cheaper than "), others.count(" is cheaper than ")) == (5, 10)
    assert first.count("D is cheaper than ") == 5


def test_where_too_much_is_untold_it_says_so(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper, running={})
    add_offers(comparison, ("owned", "Car", {"price": "9500.00"}), ("weekly_rental", "Rent", RENTAL))
    assert "Too much is not told yet" in shown(everyone["keeper"], address(comparison))


def test_one_offer_has_nothing_to_be_held_against(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL))
    assert "Add a second offer" in shown(everyone["keeper"], address(comparison))


def test_htmx_gets_the_part_alone_and_no_script_the_page(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    part = everyone["keeper"].get(address(comparison), headers=HTMX)
    page = everyone["keeper"].get(address(comparison))
    assert re.match(r'\s*<section id="comparison_switching"', part.content.decode())
    assert "<h1>" in page.content.decode()
    assert "HX-Request" in part.headers["Vary"]
    assert "HX-Request" in page.headers["Vary"]


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
