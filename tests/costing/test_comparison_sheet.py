"""The decision sheet: two sides of paper, whatever the offers."""

import re
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PageObject, PdfReader

from costing.choosing.pictures.sheet import SPARE, sheet_of
from costing.choosing.report import OffersReport
from costing.choosing.services.stored import case_of
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import HIRE, LOAN, OWNED, PCP, RENTAL, RUNNING, USE, add_offers, long_name, pcp_and_rental
from tests.factories import ComparisonFactory, OfferFactory

pytestmark = pytest.mark.usefixtures("today")

KINDS = [("pcp", PCP), ("weekly_rental", RENTAL), ("contract_hire", HIRE), ("owned", OWNED), ("hire_purchase", LOAN)]
RECORDS = "your own records, September 2025 to February 2026"
#: What an offer may leave untold.
LEFT_OUT = ("value_at_horizon", "damage", "early_exit", "excess_pence_per_mile", "includes")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-sheet", args=[comparison.pk])


def pages(client: Client, comparison: Comparison) -> list[PageObject]:
    answer: Any = client.get(address(comparison))
    assert answer.headers["Content-Type"] == "application/pdf"
    return list(PdfReader(BytesIO(answer.content)).pages)


def sides(client: Client, comparison: Comparison) -> list[str]:
    """The text of each side, with single spaces."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pages(client, comparison)]


def lowest(page: PageObject) -> float:
    """How far down the words above the page's foot reach, as a share of the page's height."""
    found: list[float] = []

    def note(text: str, of_user: list[float], of_text: list[float], *_: Any) -> None:
        height = of_user[5] + of_user[3] * of_text[5]
        if text.strip() and height > 54:
            found.append(height)

    page.extract_text(visitor_text=note)
    return 1 - min(found) / float(page.mediabox.height)


def several(member: Member, count: int, *, told: bool = True, **changes: Any) -> Comparison:
    """So many offers under names as long as they may be."""
    comparison = ComparisonFactory.create(member=member, **({"use": USE, "running": RUNNING if told else {}} | changes))
    kinds = [KINDS[number % len(KINDS)] for number in range(count)]
    offers = enumerate(kinds)
    add_offers(
        comparison,
        *(
            (kind, long_name(kind, at), {key: value for key, value in terms.items() if told or key not in LEFT_OUT})
            for at, (kind, terms) in offers
        ),
    )
    return comparison


def test_nobody_else_prints_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_the_first_side_has_the_answer_first_both_pictures_and_the_table(
    everyone: dict[str, Client], keeper: Member
) -> None:
    first, second = sides(everyone["keeper"], pcp_and_rental(keeper))
    assert "Tuition Car Book made 16 March 2026" in first
    in_order = ["is cheapest, £", "Small estate", "If you leave in month …", "Where the money goes", "Side by side"]
    places = [first.index(words) for words in in_order]
    assert places == sorted(places)
    assert "What it costs" in first
    assert "The largest part of all is" in first
    assert "page 1 of 2" in first
    assert "page 2 of 2" in second


def test_the_page_and_the_paper_say_the_same_answer(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper, running={})
    first, _ = sides(everyone["keeper"], comparison)
    page = everyone["keeper"].get(reverse("costing:comparison", args=[comparison.pk])).content.decode()
    of_page = re.search(r"the rest of its costs comes to less than £[\d,]+ over the 30 months[^<]*", page)
    assert of_page
    assert of_page[0].strip() in first
    assert "The rest: insurance, vehicle tax" in first


def test_what_could_go_wrong_has_each_way_out_and_the_takings_lost(everyone: dict[str, Client], keeper: Member) -> None:
    leaving = {"leaving": [{"month": 7, "chance": "0.25"}], "cash_in_hand": "4000.00", "put_by_per_month": "650.00"}
    text = " ".join(sides(everyone["keeper"], pcp_and_rental(keeper, use=USE | leaving)))
    assert re.search(r"Leave in month 6 [\d,]+ settled, sold [\d,]+ early exit", text)
    for words in (
        "Leave in month 12",
        "Leave in month 24",
        "On average, by the chances of leaving",
        "The dearest way, by the chances of leaving",
        "Takings lost",
    ):
        assert words in text
    assert "By the chances of leaving" in text
    assert "Purse lowest" in text


def test_what_it_rests_on_is_told_with_its_sources(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper, sources={"repairs_per_year": RECORDS})
    _, second = sides(everyone["keeper"], comparison)
    assert "price £13,450, £1,650 deposit, 42 payments of £214 a month, £6,100 final payment" in second
    assert f"repairs £430 a year ({RECORDS})" in second
    assert "We assume of A: that the insurer pays nothing back" in second


def test_own_running_costs_stand_with_the_offer_they_are_of(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    offer = comparison.offers.get(name="Small estate")
    offer.terms = offer.terms | {"running": {"servicing_per_year": "171.00"}}
    offer.sources = {"servicing_per_year": "the garage’s menu"}
    offer.save()
    _, second = sides(everyone["keeper"], comparison)
    assert "For this car: servicing £171 a year (the garage’s menu)" in second


def test_only_cautions_on_these_offers_are_printed(everyone: dict[str, Client], keeper: Member) -> None:
    _, second = sides(everyone["keeper"], pcp_and_rental(keeper))
    for words in (
        "written terms of each agreement come first",
        "half of the total price",
        "£25,000",
        "add up to a month",
    ):
        assert words in second
    assert "A: before you buy a used car" in second
    assert "B: the contract says what leaving early costs" in second
    hired = ComparisonFactory.create(member=keeper, use=USE, running=RUNNING)
    add_offers(hired, ("contract_hire", "One hire", HIRE), ("weekly_rental", "Another", RENTAL))
    text = " ".join(sides(everyone["keeper"], hired))
    assert "A and B: the contract says" in text
    for words in ("half of the total price", "£25,000", "settlement figure", "used car", "After tax"):
        assert words not in text


def test_credit_above_the_limit_has_no_half_rule(everyone: dict[str, Client], keeper: Member) -> None:
    lent = ComparisonFactory.create(member=keeper, use=USE, running=RUNNING)
    add_offers(lent, ("hire_purchase", "A dear car", LOAN), ("weekly_rental", "Weekly rental", RENTAL))
    text = " ".join(sides(everyone["keeper"], lent))
    assert "half of the total price" not in text
    assert "at most £25,000" not in text
    assert "A: what settling early costs is in the contract" in text


def test_a_new_car_is_not_called_a_used_one(everyone: dict[str, Client], keeper: Member) -> None:
    new = ComparisonFactory.create(member=keeper, use=USE, running=RUNNING)
    add_offers(new, ("owned", "Brand new", OWNED | {"first_registered": USE["starts_on"]}))
    assert "used car" not in " ".join(sides(everyone["keeper"], new))


@pytest.mark.parametrize("told", [True, False], ids=["told", "untold"])
@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 8])
def test_it_fills_two_sides_and_no_third_of_one_is_empty(
    everyone: dict[str, Client], keeper: Member, count: int, told: bool
) -> None:
    comparison = several(keeper, count, told=told)
    found = pages(everyone["keeper"], comparison)
    assert len(found) == 2
    text = " ".join(page.extract_text() for page in found)
    for words in ("If you leave in month", "Where the money goes", "Side by side", "Before you sign"):
        assert words in text
    assert all(lowest(page) > 2 / 3 for page in found)
    if not told:
        assert "Not told: insurance" in re.sub(r"\s+", " ", text)


def test_the_longest_of_everything_still_takes_two_sides(everyone: dict[str, Client], keeper: Member) -> None:
    use = USE | {"discount_rate": "0.05", "marginal_tax_rate": "0.26", "leaving": [{"month": 7, "chance": "0.2"}]}
    comparison = several(keeper, 8, name="Wide words ".ljust(80, "W"), use=use, sources=dict.fromkeys(RUNNING, RECORDS))
    own = {key: value for key, value in RUNNING.items() if key not in ("mot", "fit_out")}
    for offer in comparison.offers.exclude(kind="weekly_rental"):
        offer.terms, offer.sources = offer.terms | {"running": own}, dict.fromkeys(own, RECORDS)
        offer.save()
    assert len(pages(everyone["keeper"], comparison)) == 2


def test_what_is_not_told_has_room_to_be_written_in(everyone: dict[str, Client], keeper: Member) -> None:
    alone = ComparisonFactory.create(member=keeper, use=USE, running={})
    OfferFactory(comparison=alone, name="The only one", kind="owned", terms={"price": "7000.00"})
    text = " ".join(sides(everyone["keeper"], alone))
    assert "One offer so far. What is told of" in text
    assert "Ask, and write it here" in text
    assert "Resale value £" in text


def test_what_may_be_left_out_is_in_the_sheet(keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    assert set(SPARE) <= set(sheet_of(comparison, OffersReport(case_of(comparison))))


def test_what_would_change_the_answer_is_said_where_there_is_room(everyone: dict[str, Client], keeper: Member) -> None:
    text = " ".join(sides(everyone["keeper"], pcp_and_rental(keeper)))
    assert "What would change the answer" in text
    assert re.search(r"B is cheaper if B’s payment is below £\d+\. The plan has £141\.", text)


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
