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
from instructors.models import Grade, Member
from tests.costing.offered import PCP, RENTAL, RUNNING, USE, add_offers, pcp_and_rental, six_offers
from tests.costing.pages import shown
from tests.factories import ComparisonFactory, OfferFactory

CHANCES = {"leaving": [{"month": 7, "chance": "0.25"}, {"month": 13, "chance": "0.1"}]}
OWNED = {"price": "9500.00", "value_at_horizon": "6200.00"}

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison", args=[comparison.pk])


def body_of(client: Client, comparison: Comparison, asked: str = "") -> str:
    return client.get(f"{address(comparison)}{asked}").content.decode()


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return pcp_and_rental(keeper)


def test_nobody_else_sees_a_comparison(everyone: dict[str, Client], comparison: Comparison) -> None:
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_the_answer_comes_first_and_then_the_names(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    assert "Next car 30 months A is cheapest, £3,287 less than B . A Small estate PCP, personal contract" in page
    assert "B Weekly rental, all in Weekly rental The offers side by side, in whole pounds" in page
    # No space stands before the full stop.
    assert re.search(r"</svg>\.\s*</h2>", body_of(everyone["keeper"], comparison))


def test_what_is_not_told_is_said_first_with_the_room_it_has(everyone: dict[str, Client], keeper: Member) -> None:
    untold = {key: value for key, value in RUNNING.items() if key not in ("repairs_per_year", "insurance")}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, running=untold)))
    # 3,287 and what insurance (3,110 less nothing) and repairs (1,075) came to, over 30 months.
    assert "A is cheapest as long as its insurance and repairs together stay below £249 a month." in page
    assert "30 months 20,408 and 2 more 27,880 room 7,472" in page
    assert "A lesson hour from 6.71 9.18" in page


def test_of_two_quotes_of_which_nothing_else_is_told_only_what_is_true_is_said(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = ComparisonFactory.create(member=keeper, use=USE, running={})
    add_offers(
        comparison,
        ("owned", "Car", {"price": "9500.00"}),
        ("weekly_rental", "Rent", RENTAL | {"payment": "60.00", "payments": 26, "damage": "0"}),
    )
    page = shown(everyone["keeper"], address(comparison))
    assert "Nobody can say yet whether A or B is cheapest." in page
    assert "Still to find out for A : insurance, vehicle tax, breakdown cover, MOT, servicing, repairs, tyres" in page
    assert "is cheapest, " not in page
    assert "the lowest" not in page.split("Before lesson one")[0]
    assert "Nobody can say yet which costs the least." in page


def test_a_reader_hears_what_stands_out(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = shown(everyone["keeper"], address(comparison))
    assert "30 months 24,593 , the cheapest 27,880 3,287 more" in page
    assert "A car worth 7,600 7,941 owed none" in page
    assert "Leave in month 6 7,020 settled, sold 6,678 , the lowest early exit" in page
    assert "Six weeks ill runs on runs on" in page


def test_a_month_and_weeks_of_ones_own_are_worked_out_without_script(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    page = body_of(everyone["keeper"], comparison, "?leave=9&weeks=3&from_week=10&by=purse")
    assert "Leave in month 9" in page
    assert "Three weeks ill" in page
    # The folds that hold the answer are open, and what else was asked stays.
    assert page.count("<details open>") == 2
    assert '<input type="hidden" name="by" value="purse">' in page


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("?leave=31", "The comparison ends after 30 months."),
        ("?weeks=2&from_week=131", "The comparison ends before that, after 130 weeks."),
        ("?weeks=six", "This cannot be read: write it like 6."),
    ],
)
def test_what_cannot_be_is_said_to_be_so_and_the_usual_is_shown(
    everyone: dict[str, Client], comparison: Comparison, asked: str, words: str
) -> None:
    page = shown(everyone["keeper"], f"{address(comparison)}{asked}")
    assert words in page
    assert "Leave in month 6" in page
    assert "Six weeks ill" in page


def test_the_half_rule_stands_beside_the_ways_out_only_where_it_applies(
    everyone: dict[str, Client], keeper: Member
) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    assert "End it by the half rule 6,330 595 of it disputed –" in page
    assert "The half rule (A). It holds if you borrow at most £25,000" in page
    assert "reasonable care" in page
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL), ("owned", "Car", OWNED))
    without = shown(everyone["keeper"], address(comparison))
    assert "the ways out in month 6" in without
    assert "half rule" not in without
    assert "Consumer Credit Act" not in without


def test_attempts_and_chances_are_for_trainees_for_who_told_them_and_for_who_asks(
    everyone: dict[str, Client], keeper: Member
) -> None:
    plain, told = pcp_and_rental(keeper), pcp_and_rental(keeper, name="Told", use=USE | CHANCES)
    assert "trainee licence" not in shown(everyone["keeper"], address(plain))
    asked = re.search(r'href="([^"]*chances=yes)"', body_of(everyone["keeper"], plain))
    assert asked
    assert "trainee licence" in shown(everyone["keeper"], f"{address(plain)}{asked[1]}")
    page = shown(everyone["keeper"], address(told))
    assert "25 in 100 Leave in month 7" in page
    assert "On average" in page
    assert "The dearest way" in page
    keeper.grade = Grade.PDI
    keeper.save()
    page = shown(everyone["keeper"], address(plain))
    assert "Set the chances" in page
    assert "Trainee licence ends in month" in page


def test_the_chances_may_point_to_another_offer_and_the_answer_says_so(
    everyone: dict[str, Client], keeper: Member
) -> None:
    leaving = {"leaving": [{"month": 2, "chance": "0.9"}]}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, use=USE | leaving)))
    assert (
        "A is cheapest if you stay all 30 months, £3,287 less than B . By the chances of leaving, B costs the" in page
    )


def test_a_licence_that_ends_before_the_test_is_tried_in_the_form(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper, use=USE | CHANCES)
    page = shown(everyone["keeper"], f"{address(comparison)}?chances=yes&licence=9")
    # Of weeks 40 to 56, 15 are taught: 27 hours at £39.
    assert "Leave in month 13 10 in 100; takings lost beside: 15,795" in page
    assert "Leave in month 7 25 in 100 " in page
    # What concerns attempts to qualify is for trainees, and for whoever asks.
    assert "If a trainee licence ends before the test" in page
    assert "trainee licence" not in shown(everyone["keeper"], address(comparison))


def test_offers_can_be_ordered_and_left_out_by_the_purse(everyone: dict[str, Client], keeper: Member) -> None:
    use = USE | {"cash_in_hand": "3000.00", "put_by_per_month": "900.00"}
    comparison = pcp_and_rental(keeper, use=use)
    page = shown(everyone["keeper"], address(comparison))
    assert re.search(r"Purse lowest −514 at the start 2,\d\d\d , the most month 30", page)
    sorted_ = body_of(everyone["keeper"], comparison, "?by=purse")
    heads = re.findall(r'<th scope="col" class="num">.*?aria-label="(\w)"', sorted_, flags=re.S)
    assert heads[:2] == ["B", "A"]
    assert 'aria-current="true">Fullest purse first' in sorted_
    left = shown(everyone["keeper"], f"{address(comparison)}?purse=above")
    assert "Left out, because the purse falls below nothing: A." in left
    assert "A is cheapest, £3,287 less than B . With A the purse falls below nothing. B Weekly" in left
    assert "With A the purse" not in page
    assert "Of both offers, " in left
    assert "Of both offers, " not in page
    without = shown(everyone["keeper"], address(pcp_and_rental(keeper, name="Another")))
    assert "purse" not in without.lower()


def test_where_the_purse_is_too_small_for_every_offer_that_is_said(everyone: dict[str, Client], keeper: Member) -> None:
    use = USE | {"cash_in_hand": "0.00", "put_by_per_month": "0.00"}
    comparison = pcp_and_rental(keeper, use=use)
    page = shown(everyone["keeper"], f"{address(comparison)}?purse=above")
    assert "The purse falls below nothing with every offer." in page
    assert "A is cheapest" in page
    assert "With A the purse" not in page


def test_of_six_offers_three_stand_in_the_table_and_others_can_be_chosen(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = six_offers(keeper)
    page = body_of(everyone["keeper"], comparison)
    assert len(set(re.findall(r'<th scope="col" class="num">.*?aria-label="(\w)"', page, flags=re.S))) == 3
    assert "3 more offers" in page
    chosen = body_of(everyone["keeper"], comparison, "?show=B&show=C&show=E&show=F")
    heads = re.findall(r'<th scope="col" class="num">.*?aria-label="(\w)"', chosen, flags=re.S)
    assert heads[:4] == ["B", "C", "E", "F"]
    # Four columns leave no room for words beside them.
    assert '<th scope="rowgroup" colspan="4">A lesson hour' in chosen
    assert "D</text>" in chosen.split("</h2>")[0]


def test_each_offer_can_be_taken_up_and_the_car_one_has_held_against_them(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    page = body_of(everyone["keeper"], comparison)
    taken = [reverse("costing:offer-accept", args=[offer.pk]) for offer in comparison.offers.all()]
    assert len(taken) == 2
    assert all(f'href="{link}"' in page for link in [*taken, reverse("costing:keep-or-replace", args=[comparison.pk])])


def test_an_offer_that_is_not_finished_is_said_to_be_left_out_and_where_to_go_on(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    assert "Not finished, so not compared." not in shown(everyone["keeper"], address(comparison))
    begun = OfferFactory(comparison=comparison, kind="owned", name="Estate car", terms={})
    page = shown(everyone["keeper"], address(comparison))
    assert "Estate car Owned outright Not finished, so not compared." in page
    assert "A is cheapest, £3,287 less than B" in page
    comparison.offers.exclude(pk=begun.pk).delete()
    assert reverse("costing:offer-terms", args=[begun.pk]) in body_of(everyone["keeper"], comparison)


def test_the_terms_of_an_offer_can_be_changed_until_it_is_taken_up(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    pcp, taken = comparison.offers.order_by("position")
    taken.car, taken.chosen_on = car, date(2026, 5, 1)
    taken.save()
    page = body_of(everyone["keeper"], comparison)
    to_change = [f'href="{reverse("costing:offer-terms", args=[offer.pk])}"' in page for offer in (pcp, taken)]
    assert to_change == [True, False]


def test_once_an_offer_was_taken_up_the_plan_is_not_changed_any_more(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    use = reverse("costing:comparison-use", args=[comparison.pk])
    assert f'href="{use}"' in body_of(everyone["keeper"], comparison)
    comparison.offers.filter(position=0).update(chosen_on=date(2026, 3, 14), car=car)
    page = body_of(everyone["keeper"], comparison)
    assert f'href="{use}"' not in page
    assert "You accepted an offer, so the plan stays as it was." in page


def test_an_offer_keeps_its_letter_whoever_is_cheapest_and_when_another_goes(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(
        comparison,
        ("owned", "Dear", OWNED | {"price": "9900.00"}),
        ("owned", "Gone", OWNED | {"price": "9700.00"}),
        ("owned", "Cheap", OWNED),
    )
    assert "C is cheapest, £200 less than B" in shown(everyone["keeper"], address(comparison))
    comparison.offers.get(name="Gone").delete()
    page = shown(everyone["keeper"], address(comparison))
    assert "C is cheapest, £400 less than A" in page
    assert "A Dear Owned outright C Cheap Owned outright" in page


@pytest.mark.parametrize(
    ("quoted", "words"),
    [
        ("10.7", "10.7% Quoted 10.7%: they agree."),
        ("11.7", "10.7% Quoted 11.7%: near enough to ours."),
        ("11.8", "10.7% Quoted 11.8%: lower than quoted. Check"),
        ("10.6", "10.7% Quoted 10.6%: near enough to ours."),
        ("10.5", "10.7% Quoted 10.5%: higher than quoted. The quote may leave out a fee"),
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
    assert "10.7% None was quoted: ask for one in writing." in page
    assert "No APR You borrow nothing." in page


def test_what_it_rests_on_is_told_with_where_it_came_from(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(
        member=keeper,
        running={"repairs_per_year": "400.00"},
        sources={"repairs_per_year": "the group’s median of 6 members"},
    )
    add_offers(comparison, ("owned", "A car", {"price": "9500.00", "running": {"mot": "54.85"}}))
    OfferFactory(comparison=comparison, name="Another", sources={"mot": "typed in"})
    page = shown(everyone["keeper"], address(comparison))
    assert "Repairs: £400 a year The group’s median of 6 members" in page
    assert "The MOT £54.85 each, once the car is three years old Typed in" in page
    assert "Over 24 months from 1 May 2026: 24,000 miles a year, 3,000 of them private" in page


def test_credit_above_the_limit_has_no_half_rule(everyone: dict[str, Client], keeper: Member) -> None:
    # Facts H8-2, H8-5, H8-6: more than £25,000 lent, price less deposit, has no half rule for a business.
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "27000.00", "payment": "500.00", "payments": 60, "value_at_horizon": "9000.00", "damage": "0"}
    add_offers(
        comparison,
        ("hire_purchase", "At the limit", terms | {"deposit": "2000.00"}),
        ("hire_purchase", "Above it", terms | {"deposit": "1999.99"}),
    )
    page = shown(everyone["keeper"], address(comparison))
    assert "The half rule (A)." in page
    assert "B End it by the half rule: the law does not give it where so much is lent for work." in page
    assert "B: what settling early costs is in the contract." in page
    assert "Settling (A). The lender may add up to a month’s interest" in page
    assert "Settling (B). The contract says what it costs" in page


def test_one_offer_stands_alone_and_asks_for_another(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, name="The only one")
    page = shown(everyone["keeper"], address(comparison))
    assert "One offer so far" in page
    assert "Add an offer to compare it with" in page
    assert "goes under" not in page


def test_without_a_complete_offer_there_is_a_way_to_add_one(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, terms={})
    page = body_of(everyone["keeper"], comparison)
    assert "No complete offer yet" in page
    assert reverse("costing:offer-add", args=[comparison.pk]) in page


def test_what_is_not_told_yet_is_asked_for_step_by_step(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper, use={})
    OfferFactory(comparison=comparison)
    assert reverse("costing:comparison-use", args=[comparison.pk]) in body_of(everyone["keeper"], comparison)
    comparison = ComparisonFactory.create(member=keeper, running={"mot": "much"})
    OfferFactory(comparison=comparison)
    assert reverse("costing:comparison-running", args=[comparison.pk]) in body_of(everyone["keeper"], comparison)


def test_a_car_handed_back_before_the_plan_ends_is_not_compared(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(
        comparison,
        ("pcp", "Short", PCP | {"payment": "600.00", "payments": 12, "at_end": "hand_back"}),
        ("owned", "Car", OWNED),
    )
    page = shown(everyone["keeper"], address(comparison))
    assert "Short PCP, personal contract purchase Not finished, so not compared." in page
    assert "One offer so far" in page


def test_the_pictures_say_in_words_what_they_show(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = body_of(everyone["keeper"], comparison)
    # Each for a narrow and for a wide place.
    assert page.count('<svg class="chart"') == 4
    assert "B, Weekly rental, all in: Fuel £9,230.00, Hire £18,650.00." in page
    assert "A, Small estate, ends at £24.6k" in page
    assert " style=" not in page


def test_the_heavy_parts_come_when_they_are_opened_and_have_a_plain_link(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    page = body_of(everyone["keeper"], comparison)
    for name in ("costing:comparison-switching", "costing:comparison-odds"):
        own = reverse(name, args=[comparison.pk])
        assert f'hx-get="{own}"' in page
        assert f'href="{own}"' in page


def test_more_offers_ask_no_more_queries(everyone: dict[str, Client], keeper: Member) -> None:
    few, many = pcp_and_rental(keeper), six_offers(keeper, name="Many")
    counts = []
    for comparison in (few, many):
        with CaptureQueriesContext(connection) as captured:
            everyone["keeper"].get(address(comparison))
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_a_plan_of_one_month_has_its_picture_too(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper, use=USE | {"starts_on": "2026-01-31", "months": 1})
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL), ("owned", "Car", OWNED))
    page = shown(everyone["keeper"], address(comparison))
    assert "month 1, February 2026" in page
    assert "Leave in month 1" in page
