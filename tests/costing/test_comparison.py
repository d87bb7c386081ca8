"""The page that holds offers against each other."""

import re
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import Comparison
from fleet.models import Car
from instructors.models import Member
from tests.costing.offered import HIRE, PCP, RENTAL, add_offers, pcp_and_rental, six_offers
from tests.costing.pages import shown
from tests.factories import ComparisonFactory, OfferFactory

#: A fifth more miles than 24,000 a year are 4,800 beyond this.
HIRE_MILES = {"mileage_allowance": "24000", "excess_pence_per_mile": "7.5"}

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison", args=[comparison.pk])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return pcp_and_rental(keeper)


def test_nobody_else_sees_a_comparison(everyone: dict[str, Client], comparison: Comparison) -> None:
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_each_offer_can_be_taken_up_and_the_car_one_has_held_against_them(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    page = everyone["keeper"].get(address(comparison)).content.decode()
    taken = [reverse("costing:offer-accept", args=[offer.pk]) for offer in comparison.offers.all()]
    assert len(taken) == 2
    assert all(f'href="{link}"' in page for link in [*taken, reverse("costing:keep-or-replace", args=[comparison.pk])])


def test_an_offer_that_is_not_finished_is_said_to_be_left_out_and_where_to_go_on(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    assert "Not finished, so not compared." not in shown(everyone["keeper"], address(comparison))
    begun = OfferFactory(comparison=comparison, kind="owned", name="Estate car", terms={}, is_complete=False)
    assert "Estate car Owned outright Not finished, so not compared. Go on with: The money" in shown(
        everyone["keeper"], address(comparison)
    )
    comparison.offers.exclude(pk=begun.pk).delete()
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert reverse("costing:offer-terms", args=[begun.pk, "money"]) in page


def test_the_terms_of_an_offer_can_be_changed_until_it_is_taken_up(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    pcp, taken = comparison.offers.order_by("position")
    taken.car, taken.chosen_on = car, date(2026, 5, 1)
    taken.save()
    page = everyone["keeper"].get(address(comparison)).content.decode()
    to_change = [reverse("costing:offer-terms", args=[offer.pk, "money"]) in page for offer in (pcp, taken)]
    assert to_change == [True, False]


def test_once_an_offer_was_taken_up_the_plan_is_not_changed_any_more(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    use = reverse("costing:comparison-use", args=[comparison.pk])
    assert f'href="{use}"' in everyone["keeper"].get(address(comparison)).content.decode()

    comparison.offers.filter(position=0).update(chosen_on=date(2026, 3, 14), car=car)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert f'href="{use}"' not in page
    assert "You accepted an offer, so the plan stays as it was." in page


def test_the_answer_comes_first(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    assert "Next car A is the cheapest: £2,988.11 less than B over 24 months." in page
    assert "A Three-year-old hatchback PCP, personal contract purchase B Weekly rental, all in Weekly rental" in page
    assert "Over 24 months from 1 May 2026: 24,000 miles a year, 3,000 of them private" in page


def test_an_offer_keeps_its_letter_whoever_is_cheapest_and_when_another_goes(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "9500.00", "value_at_horizon": "6200.00"}
    add_offers(
        comparison,
        ("owned", "Dear", terms | {"price": "9900.00"}),
        ("owned", "Gone", terms | {"price": "9700.00"}),
        ("owned", "Cheap", terms),
    )
    assert "C is the cheapest: £200.00 less than B over 24 months." in shown(everyone["keeper"], address(comparison))
    comparison.offers.get(name="Gone").delete()
    page = shown(everyone["keeper"], address(comparison))
    assert "C is the cheapest: £400.00 less than A over 24 months." in page
    assert "A Dear Owned outright C Cheap Owned outright" in page


def test_two_offers_of_one_total_are_said_to_cost_the_same(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "9500.00", "value_at_horizon": "6200.00"}
    add_offers(comparison, ("owned", "One", terms), ("owned", "Other", terms))
    assert "A and B cost the same over 24 months" in shown(everyone["keeper"], address(comparison))


def test_every_measure_stands_beside_the_others(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    for label, first, second in (
        ("Total for 24 months", "£17,257.89 cheapest", "£20,246.00 £2,988.11 more"),
        ("A week", "£165.94", "£194.67"),
        ("A mile", "£0.36", "£0.42"),
        ("A lesson hour", "£7.21", "£8.46"),
        ("Up front", "£2,805.00", "£0.00"),
        ("Dearest month", "£2,805.00 the start", "£1,136.00 month 24, April 2028"),
        ("Lesson hours a week to pay for it", "4.94 h", "5.79 h"),
    ):
        assert f"{label} {first} {second} " in page


def test_what_is_included_is_told_apart_from_what_is_not(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    assert "Not included Fuel" in page
    assert "Terms price £11,800.00, £1,200.00 deposit, 36 payments of £189.00 a month" in page
    assert "Terms 104 payments of £129.00 a week Included" in page
    assert "Included Nothing" in page


@pytest.mark.parametrize(
    ("quoted", "words"),
    [
        ("6.8", "6.8 % Quoted 6.8 %: they agree."),
        ("7.8", "6.8 % Quoted 7.8 %: they agree."),
        ("7.9", "6.8 % Quoted 7.9 %: lower than quoted. Check"),
        ("6.7", "6.8 % Quoted 6.7 %: they agree."),
        ("6.6", "6.8 % Quoted 6.6 %: higher than quoted. The quote may leave out a fee"),
    ],
)
def test_a_quoted_apr_is_held_against_the_one_worked_out(
    everyone: dict[str, Client], keeper: Member, quoted: str, words: str
) -> None:
    # 1.0 above and 0.1 below: facts A7-7, figures read in a secondary text.
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("pcp", "Hatchback", PCP | {"quoted_apr": quoted}))
    assert words in shown(everyone["keeper"], address(comparison))


def test_an_apr_is_asked_for_where_none_is_quoted_and_hire_has_none(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    unquoted = {name: value for name, value in PCP.items() if name != "quoted_apr"}
    add_offers(comparison, ("pcp", "Hatchback", unquoted), ("weekly_rental", "Rental", RENTAL))
    page = shown(everyone["keeper"], address(comparison))
    assert "6.8 % None was quoted: ask for one in writing." in page
    assert "No APR You borrow nothing." in page


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"price": "9000.00", "payment": "100.00", "payments": 36}, "The payments don’t repay the loan"),
        (
            {"price": "9000.01", "deposit": "9000.00", "payment": "99999.00", "payments": 52, "frequency": "week"},
            "Not known No rate fits these payments",
        ),
    ],
)
def test_payments_that_cannot_be_right_are_said_to_be_so(
    everyone: dict[str, Client], keeper: Member, terms: dict, words: str
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("hire_purchase", "Hatchback", terms))
    assert words in shown(everyone["keeper"], address(comparison))


@pytest.mark.parametrize(
    ("kind", "terms", "words"),
    [
        ("contract_hire", HIRE, "20,000 Extra miles 8,000 £600.00 to pay at the end"),
        ("contract_hire", HIRE | {"mileage_allowance": "24000"}, "24,000 Extra miles None"),
        ("weekly_rental", RENTAL, "No limit Extra miles None"),
        ("pcp", PCP, "10,000 Extra miles 28,000 £2,520.00 only if you hand it back, which isn’t the plan"),
        ("pcp", PCP | {"payments": 24, "at_end": "hand_back"}, "10,000 Extra miles 28,000 £2,520.00 to pay at the end"),
    ],
)
def test_miles_beyond_the_allowance_and_their_cost_are_in_plain_view(
    everyone: dict[str, Client], keeper: Member, kind: str, terms: dict, words: str
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, (kind, "The one", terms))
    assert f"Miles allowed a year {words}" in shown(everyone["keeper"], address(comparison))


def test_present_value_and_tax_are_shown_only_when_asked_for(everyone: dict[str, Client], keeper: Member) -> None:
    plain = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    assert "In today’s money" not in plain
    asked = pcp_and_rental(keeper, name="Another")
    asked.use = {**asked.use, "discount_rate": "0.05", "marginal_tax_rate": "0.26"}
    asked.save()
    page = shown(everyone["keeper"], address(asked))
    assert "In today’s money, at 5.0 % a year" in page
    # 20,246.00 x (1 - 0.26 x 21,000/24,000) = 15,640.035
    assert re.search(r"After tax £[\d,.]+ £15,640.04 ", page)
    assert (
        "After tax counts every cost of a dual-control car as relieved in the end: check with an accountant when."
        in page
    )


def test_the_month_of_each_overtaking_is_named(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    overtaking = re.findall(r"From (month \d+, \w+ \d{4}), (.+?) has cost less so far", page)
    assert overtaking == [
        ("month 10, February 2027", "Three-year-old hatchback"),
        ("month 12, April 2027", "Weekly rental, all in"),
        ("month 14, June 2027", "Three-year-old hatchback"),
    ]


def test_offers_that_keep_their_order_overtake_nobody(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "9500.00", "value_at_horizon": "6200.00"}
    add_offers(comparison, ("owned", "One", terms), ("owned", "Other", terms | {"price": "9600.00"}))
    assert "No offer overtakes another" in shown(everyone["keeper"], address(comparison))


def test_what_usually_happens_is_always_looked_at(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    table = page[page.index("What each would cost then") :]
    for event, total in (
        ("You are ill for six weeks", "£16,795.21 £462.68 less than planned"),
        ("You leave after nine months", "£8,843.00 £226.74 a week; as planned, £194.67"),
        ("A trainee who fails the first attempt leaves after 6 months", "£244.46 a week"),
        ("A trainee who fails the second attempt leaves after 12 months", "£217.88 a week"),
        ("A trainee who fails the third attempt leaves after 18 months", "£209.03 a week"),
        ("Scuffs and chips cost £400 when the car goes back", "£20,296.00 £50.00 more than planned"),
        ("You drive a fifth more miles", "£21,542.00 £1,296.00 more than planned"),
        ("One big repair costs £900", "£18,157.89 £900.00 more than planned"),
    ):
        assert total in table[table.index(event) :]
    assert "These weeks, months and sums are our own assumptions." in page


def test_an_event_that_changes_the_cheapest_says_so(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    assert "You leave after nine months Weekly rental, all in is then the cheapest, in place of Three-year-old" in page
    assert "You are ill for six weeks Three-year-old hatchback is still the cheapest. A You leave" in page


def test_an_event_may_change_the_order_of_the_dearer_ones_alone(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"payment": "400.00", "payments": 24, "early_exit": {"kind": "weeks", "value": "0"}}
    add_offers(
        comparison,
        ("contract_hire", "Low", terms | {"payment": "300.00"}),
        ("contract_hire", "Middle, with a charge for miles", terms | HIRE_MILES),
        ("contract_hire", "High", terms | {"payment": "410.00"}),
    )
    page = shown(everyone["keeper"], address(comparison))
    assert "You drive a fifth more miles Low is still the cheapest, but the others change places." in page
    assert "One big repair costs £900 Low is still the cheapest, in the same order." in page


def test_events_after_the_plan_ends_are_left_out(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    comparison.use = {**comparison.use, "months": 4}
    comparison.save()
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL))
    page = shown(everyone["keeper"], address(comparison))
    assert "You are ill for six weeks" not in page
    assert "You leave after nine months" not in page
    assert "You drive a fifth more miles" in page


def test_an_event_of_ones_own_is_worked_out(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], f"{address(comparison)}?weeks=1&from_week=&leave=9")
    assert "Your own: no lessons for 1 week from week 1, you leave after month 9" in page


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("weeks=&from_week=&leave=25", "The comparison ends after 24 months."),
        ("weeks=2&from_week=105&leave=", "The comparison ends before that, after 104 weeks."),
        ("weeks=&from_week=3&leave=", "Say how many weeks, or after which month you leave."),
        ("weeks=six&from_week=&leave=", "This cannot be read: write it like 6."),
    ],
)
def test_an_event_that_cannot_be_is_said_to_be_so(
    everyone: dict[str, Client], comparison: Comparison, asked: str, words: str
) -> None:
    page = shown(everyone["keeper"], f"{address(comparison)}?{asked}")
    assert words in page
    assert "Your own:" not in page


def test_what_it_rests_on_is_told_with_where_it_came_from(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(
        member=keeper,
        running={"repairs_per_year": "400.00"},
        sources={"repairs_per_year": "the group’s median of 6 members"},
    )
    add_offers(comparison, ("owned", "A car", {"price": "9500.00"}))
    page = shown(everyone["keeper"], address(comparison))
    assert "Repairs: £400.00 a year The group’s median of 6 members" in page
    assert "Not filled in, so counted as nothing: Fuel Insurance" in page
    assert "What the car will fetch, A car" in page


def test_credit_above_the_limit_is_named(everyone: dict[str, Client], keeper: Member) -> None:
    # Facts H8-2, H8-5, H8-6: more than £25,000 lent, price less deposit, has no half rule for a business.
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "27000.00", "payment": "500.00", "payments": 60, "value_at_horizon": "9000.00"}
    add_offers(
        comparison,
        ("hire_purchase", "At the limit", terms | {"deposit": "2000.00"}),
        ("hire_purchase", "Above it", terms | {"deposit": "1999.99"}),
    )
    page = shown(everyone["keeper"], address(comparison))
    assert "Above it lends you £25,000.01, which is more." in page
    assert "At the limit lends you" not in page
    # (2,000.00 + 60 x 500.00) / 2
    assert "At the limit £16,000.00" in page


def test_hire_and_outright_purchase_need_no_word_on_credit(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL))
    page = shown(everyone["keeper"], address(comparison))
    assert "Consumer Credit Act" not in page
    assert "leaving early costs what the contract says" in page


def test_one_offer_stands_alone_and_asks_for_another(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, name="The only one")
    page = shown(everyone["keeper"], address(comparison))
    assert "One offer so far" in page
    assert "Add an offer to compare it with" in page
    assert "overtakes" not in page


def test_without_a_complete_offer_there_is_a_way_to_add_one(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, terms={}, is_complete=False)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert "No complete offer yet" in page
    assert reverse("costing:offer-add", args=[comparison.pk]) in page


def test_what_is_not_told_yet_is_asked_for_step_by_step(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper, use={})
    OfferFactory(comparison=comparison)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert reverse("costing:comparison-use", args=[comparison.pk]) in page
    comparison = ComparisonFactory.create(member=keeper, running={"mot": "much"})
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert reverse("costing:comparison-running", args=[comparison.pk]) in page


def test_a_car_handed_back_before_the_plan_ends_is_refused_with_the_reason(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("pcp", "Short", PCP | {"payments": 12, "at_end": "hand_back"}))
    page = shown(everyone["keeper"], address(comparison))
    assert "One offer doesn't fit the plan" in page
    assert "is handed back after 12 months, which leaves no car" in page


def test_the_pictures_say_in_words_what_they_show(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = everyone["keeper"].get(address(comparison)).content.decode()
    # Each for a narrow and for a wide place.
    assert page.count('<svg class="chart"') == 4
    assert "B, Weekly rental, all in: Fuel £6,480.00, Finance £13,766.00." in page
    assert "A, Three-year-old hatchback, ends at £17.3k" in page
    assert " style=" not in page


def test_the_heavy_parts_come_by_themselves_and_have_a_plain_link(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    page = everyone["keeper"].get(address(comparison)).content.decode()
    for name in ("costing:comparison-switching", "costing:comparison-odds"):
        own = reverse(name, args=[comparison.pk])
        assert f'hx-get="{own}"' in page
        assert f'href="{own}"' in page


def test_more_offers_ask_no_more_queries(everyone: dict[str, Client], keeper: Member) -> None:
    few, many = pcp_and_rental(keeper), six_offers(keeper)
    counts = []
    for comparison in (few, many):
        with CaptureQueriesContext(connection) as captured:
            everyone["keeper"].get(address(comparison))
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_a_month_ends_with_the_day_before_its_own(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    comparison.use = {**comparison.use, "starts_on": date(2026, 1, 31).isoformat(), "months": 1}
    comparison.save()
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL))
    assert "month 1, February 2026" in shown(everyone["keeper"], address(comparison))
