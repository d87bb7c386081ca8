"""The answer in sentences: what it says of hand-made offers, and that it never says more than the verdicts do."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, reject, settings

from costing.choosing.core.case import Case, Chance, EarlyExit, Offer, Running, Use
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.choosing.pictures.answer import answer, lead_of, plain
from costing.choosing.report import OffersReport
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing import cases

USE = cases.USE._replace(months=24)
ALL = frozenset(RUNNING_PARTS)


def bought(name: str, loses: int, *untold: str, value: int | None = 1_000_00, **fields: Any) -> Offer:
    """A car that loses so many pence in all; what is ``untold`` isn't included, and the common table tells nothing."""
    terms = {"price": loses + (value or 0), "value_at_horizon": value, "includes": ALL - {*untold}} | fields
    return Offer(name, "owned", **terms)


def rented(name: str, a_month: int, payments: int = 24, **fields: Any) -> Offer:
    return Offer(name, "contract_hire", payment=a_month, payments=payments, **{"includes": ALL, "damage": 0} | fields)


def said(*offers: Offer, use: Use = USE, running: Running = cases.UNTOLD) -> list[str]:
    report = OffersReport(Case(use, running, offers))
    letters = {offer.name: "ABCDEFGH"[index] for index, offer in enumerate(offers)}
    found = answer(report.figures, report.verdicts, letters, use)
    return [plain(sentence) for sentence in (found.sentence, *found.beside)]


def test_a_settled_answer_says_by_how_much() -> None:
    assert said(bought("One", 4_500_00), bought("Other", 3_800_00)) == ["B is cheapest, £700 less than A."]
    three = bought("One", 4_500_00), bought("Other", 3_800_00), bought("Third", 3_999_99)
    assert said(*three) == ["B is cheapest, £200 less than C."]
    assert said(bought("One", 3_800_35), bought("Other", 3_800_00)) == ["B is cheapest, 35p less than A."]


def test_two_of_one_sum_cost_the_same() -> None:
    assert said(bought("One", 4_500_00), bought("Other", 4_500_00)) == ["A and B cost the same."]
    dearer = bought("Dearer", 9_000_00)
    assert said(bought("One", 4_500_00), bought("Other", 4_500_00), dearer) == [
        "A and B cost the same, and no other costs less."
    ]


def test_the_room_of_running_costs_is_told_a_month_and_rounded_down() -> None:
    assert said(bought("One", 3_000_00, "repairs"), bought("Other", 5_400_00)) == [
        "A is cheapest as long as its repairs stay below £100 a month."
    ]
    assert said(bought("One", 3_000_00, "insurance", "servicing", "repairs"), bought("Other", 5_399_99)) == [
        "A is cheapest as long as its insurance, servicing and repairs together stay below £99 a month."
    ]
    assert said(bought("One", 3_000_00, "insurance"), bought("Other", 3_023_50)) == [
        "A is cheapest as long as its insurance comes to less than £23 over the 24 months."
    ]


def test_the_room_of_an_mot_is_never_told_a_month() -> None:
    assert said(bought("One", 3_000_00, "mot"), bought("Other", 5_400_00)) == [
        "A is cheapest as long as its MOT comes to less than £2,400 over the 24 months."
    ]
    assert said(bought("One", 3_000_00, "mot", "fit_out"), bought("Other", 5_400_00)) == [
        "A is cheapest as long as its MOT and fit-out together come to less than £2,400 over the 24 months."
    ]
    # With what is paid over the months it is a share of them.
    assert said(bought("One", 3_000_00, "mot", "repairs"), bought("Other", 5_400_00)) == [
        "A is cheapest as long as its MOT and repairs together stay below £100 a month."
    ]


def test_the_room_of_a_sum_paid_once_is_told_in_all() -> None:
    assert said(bought("One", 3_000_00, "fit_out"), bought("Other", 3_440_50)) == [
        "A is cheapest as long as its fit-out comes to less than £440."
    ]
    assert said(bought("One", 3_000_00, "fit_out", "repairs"), bought("Other", 5_440_00)) == [
        "A is cheapest as long as its repairs and fit-out together come to less than £2,440 over the 24 months."
    ]
    # 12 of 36 payments are left: more than the room.
    leaves = rented("One", 200_00, payments=36)
    assert said(leaves, bought("Other", 5_000_00)) == [
        "A is cheapest as long as its charge for leaving early comes to less than £200."
    ]


def test_what_a_car_must_fetch_is_rounded_up() -> None:
    assert said(bought("One", 8_400_00, value=None), bought("Other", 4_200_50)) == [
        "A is cheapest as long as its car fetches at least £4,200 at the end."
    ]
    assert said(bought("One", 8_400_01, value=None), bought("Other", 4_200_00)) == [
        "A is cheapest as long as its car fetches at least £4,201 at the end."
    ]
    # Against two others, the more it must fetch counts.
    assert said(bought("One", 8_400_00, value=None), bought("Other", 4_200_00), bought("Third", 6_000_00)) == [
        "A is cheapest as long as its car fetches at least £4,200 at the end."
    ]


def test_a_car_that_may_fetch_nothing_is_said_to() -> None:
    assert said(bought("One", 3_000_00, "repairs", value=None), bought("Other", 5_400_00)) == [
        "A is cheapest as long as its repairs stay below £100 a month, even if its car fetches nothing."
    ]


def test_what_is_untold_of_both_is_said_to_cost_both_the_same() -> None:
    two = bought("One", 3_800_00, "fuel"), bought("Other", 4_500_00, "fuel")
    assert said(*two) == ["A is cheapest, £700 less than B, if fuel costs the same for both."]
    assert said(*two, bought("Third", 5_000_00, "fuel")) == [
        "A is cheapest, £700 less than B, if fuel costs the same for each."
    ]
    same = bought("One", 3_800_00, "fuel", "repairs"), bought("Other", 3_800_00, "fuel", "repairs")
    assert said(*same) == ["A and B cost the same, if repairs and fuel cost the same for both."]


def test_a_settled_lead_whose_other_isnt_wholly_told_is_at_least_so_much() -> None:
    assert said(bought("One", 3_800_00), bought("Other", 4_500_99, "repairs")) == [
        "A is cheapest, at least £700 less than B."
    ]
    unsold = bought("One", 3_000_00, value=None)
    assert said(unsold, bought("Other", 4_500_00)) == ["A is cheapest, at least £1,500 less than B."]


def test_conditions_that_differ_are_said_one_by_one() -> None:
    found = said(bought("One", 3_000_00, "repairs", "fuel"), bought("B", 5_400_00), bought("C", 7_800_00, "fuel"))
    assert found == [
        "A is cheaper than B as long as its repairs and fuel together stay below £100 a month.",
        "A is cheaper than C as long as its repairs stay below £200 a month, if fuel costs the same for both.",
    ]
    found = said(bought("One", 3_000_00, "fuel"), bought("B", 5_400_00), bought("C", 7_800_00, "fuel"))
    assert found == [
        "A is cheaper than B as long as its fuel stays below £100 a month.",
        "A is cheaper than C, if fuel costs the same for both.",
    ]
    found = said(bought("One", 3_000_00), bought("B", 5_400_00), bought("C", 7_800_00, "fuel"))
    assert found == ["A is cheapest, £2,400 less than B."]
    same = bought("One", 3_000_00, "fuel"), bought("B", 5_400_00, "fuel"), bought("C", 7_800_00, "fuel", "mot")
    assert said(*same, use=USE._replace(months=6))[0].endswith("less than B, if fuel costs the same for each.")


def test_where_nobody_can_say_what_is_to_be_found_out_is_said() -> None:
    assert said(bought("One", 3_000_00, "repairs"), bought("Other", 3_000_00, "insurance")) == [
        "Nobody can say yet whether A or B is cheapest.",
        "Still to find out for A: repairs.",
        "Still to find out for B: insurance.",
    ]
    unsold = [bought(name, 3_000_00, value=None) for name in ("One", "Other")]
    assert said(*unsold, bought("Third", 9_000_00)) == [
        "Nobody can say yet whether A or B is cheapest.",
        "Still to find out for A: resale value.",
        "Still to find out for B: resale value.",
    ]


def test_of_a_pair_among_more_what_can_be_said_is_said() -> None:
    found = said(
        bought("One", 3_000_00, "repairs"), bought("Other", 3_000_00, "insurance"), bought("Third", 3_240_00, "tyres")
    )
    assert found[0] == "Nobody can say yet which of A, B and C is cheapest."
    assert "A is cheaper than C as long as its repairs stay below £10 a month." in found


def test_one_offer_stands_alone() -> None:
    assert said(bought("One", 3_000_00)) == ["One offer so far: A costs £3,000 over 24 months."]
    assert said(bought("One", 3_000_00, "repairs", "tyres")) == [
        "One offer so far. What is told of A comes to £3,000 over 24 months. Not told: repairs and tyres."
    ]


MAY_LEAVE = USE._replace(leaving=(Chance(3, Fraction(1, 2)),))
STAY = "if you stay all 24 months"


@pytest.mark.parametrize(
    ("offers", "sentences"),
    [
        ([bought("One", 4_500_00), bought("Other", 3_800_00)], [f"B is cheapest {STAY}, £700 less than A."]),
        (
            [bought("One", 3_800_00, "fuel"), bought("Other", 4_500_00, "fuel")],
            [f"A is cheapest {STAY}, £700 less than B, if fuel costs the same for both."],
        ),
        (
            [bought("One", 3_000_00, "repairs"), bought("Other", 5_400_00)],
            [f"A is cheapest {STAY}, as long as its repairs stay below £100 a month."],
        ),
        (
            [bought("One", 3_000_00, "fuel"), bought("B", 5_400_00), bought("C", 7_800_00, "fuel")],
            [
                f"A is cheaper than B {STAY}, as long as its fuel stays below £100 a month.",
                f"A is cheaper than C {STAY} and if fuel costs the same for both.",
            ],
        ),
        (
            [bought("One", 3_800_00, "fuel"), bought("Other", 3_800_00, "fuel")],
            [f"A and B cost the same {STAY} and if fuel costs the same for both."],
        ),
        (
            [bought("One", 3_000_00, "repairs"), bought("Other", 3_000_00, "insurance")],
            [f"Nobody can say yet whether A or B is cheapest {STAY}."],
        ),
        ([bought("One", 3_000_00)], ["One offer so far: A costs £3,000 over 24 months."]),
    ],
    ids=["settled", "if the same", "on a condition", "on several", "of one sum", "open", "alone"],
)
def test_where_one_may_leave_the_answer_says_that_it_is_for_the_whole(
    offers: list[Offer], sentences: list[str]
) -> None:
    assert said(*offers, use=MAY_LEAVE)[: len(sentences)] == sentences
    certain = USE._replace(leaving=(Chance(3, Fraction(0)), Chance(24, Fraction(1))))
    assert said(*offers, use=certain)[0] == said(*offers)[0]


@settings(deadline=None, max_examples=150)
@given(cases.cases(3))
def test_the_answer_never_says_more_than_the_verdicts(case: Case) -> None:
    report = OffersReport(case)
    letters = {offer.name: "ABCDEFGH"[index] for index, offer in enumerate(case.offers)}
    try:
        found = answer(report.figures, report.verdicts, letters, case.use)
    except CannotBeHandedBack:
        reject()  # no document may plan that
    words = plain(found.sentence)
    holds_as_it_is = " is cheapest" in words and not any(
        limit in words for limit in ("as long as", ", if ", " and if ", "Nobody can say")
    )
    assert holds_as_it_is is (report.cheapest is not None)
    if report.cheapest:
        assert words.startswith(f"{letters[report.cheapest]} is cheapest")
        assert found.leader == report.cheapest
    lead = lead_of(report.figures, report.verdicts)
    assert found.leader == (lead.name if lead else "")


@pytest.mark.parametrize("months", [1, 24])
def test_a_limit_below_a_pound_is_told_in_pence(months: int) -> None:
    use = USE._replace(months=months)
    assert said(bought("One", 3_000_00, "fit_out"), bought("Other", 3_000_40), use=use) == [
        "A is cheapest as long as its fit-out comes to less than 40p."
    ]


def test_chances_and_rules_are_those_of_the_case() -> None:
    # What leads as planned need not lead on average: the page says both.
    use = USE._replace(leaving=(Chance(3, Fraction(1, 2)),))
    rent = rented("Rent", 250_00, payments=24, early_exit=EarlyExit("weeks", Fraction(0)))
    own = Offer("Own", "owned", price=8_000_00, value_now=4_000_00, value_at_horizon=3_000_00, includes=ALL)
    report = OffersReport(Case(use, Running(), (rent, own)))
    assert (report.cheapest, report.cheapest_expected) == ("Own", "Rent")
