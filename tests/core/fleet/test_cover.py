"""Whether insurance and tax hold for whoever keeps the car. 1 is the keeper, an ADI; 2 kept the car before."""

from datetime import date

import pytest

from fleet.core.cover import (
    Holder,
    PolicyAnswer,
    TaxPaid,
    Time,
    holder_on,
    no_tuition_since,
    tax_doubt,
    tuition_doubt,
)
from fleet.core.due import DayUnknown

#: The handover was on 10 March: the day after it is the keeper's first.
HANDOVER, FIRST, LATER = date(2026, 3, 10), date(2026, 3, 11), date(2026, 3, 12)
JANUARY = date(2026, 1, 5)
OWN = Holder(1, "ADI")
TAKEN = Holder(1, "ADI", FIRST, frozenset({2}))
UNCONFIRMED, FORMER = DayUnknown.TUITION_NOT_CONFIRMED, DayUnknown.POLICY_OF_FORMER_KEEPER


@pytest.mark.parametrize(
    ("answers", "doubt"),
    [
        ([], UNCONFIRMED),
        ([PolicyAnswer(JANUARY, True, "ADI", 1)], None),
        ([PolicyAnswer(JANUARY, True, "ADI", 7)], None),  # a coordinator has seen the policy
        ([PolicyAnswer(JANUARY, True, "ADI")], None),
        ([PolicyAnswer(JANUARY, True, "PDI", 1)], UNCONFIRMED),
        ([PolicyAnswer(JANUARY, True, "", 1)], UNCONFIRMED),
        ([PolicyAnswer(JANUARY, False, "", 1)], None),  # known to leave it out
        ([PolicyAnswer(JANUARY, True, "ADI", 1), PolicyAnswer(LATER, False, "", 1)], None),
        ([PolicyAnswer(JANUARY, False, "", 1), PolicyAnswer(LATER, True, "PDI", 1)], UNCONFIRMED),
        ([PolicyAnswer(JANUARY, False, "", 1), PolicyAnswer(LATER, True, "ADI", 1)], None),
        ([PolicyAnswer(JANUARY, True, "ADI", 1), PolicyAnswer(LATER, True, "PDI", 1)], None),
    ],
)
def test_a_policy_counts_that_was_found_to_cover_the_keepers_grade(
    answers: list[PolicyAnswer], doubt: DayUnknown | None
) -> None:
    assert tuition_doubt(answers, OWN) is doubt


@pytest.mark.parametrize(
    ("on", "by", "doubt"),
    [
        (JANUARY, 1, FORMER),  # a loan before: the taker confirms anew each time
        (HANDOVER, 2, FORMER),
        (HANDOVER, None, FORMER),  # the day of the handover is the former keeper's
        (HANDOVER, 1, None),  # the taker may see to it on that day
        (FIRST, None, None),
        (LATER, 1, None),
        (LATER, 2, FORMER),
    ],
)
def test_after_a_handover_only_what_the_taker_confirmed_counts(
    on: date, by: int | None, doubt: DayUnknown | None
) -> None:
    assert tuition_doubt([PolicyAnswer(on, True, "ADI", by)], TAKEN) is doubt


def test_the_latest_answer_alone_may_say_that_tuition_is_left_out() -> None:
    yes, no = PolicyAnswer(LATER, True, "ADI"), PolicyAnswer(JANUARY, False)
    assert no_tuition_since([], OWN) is None
    assert no_tuition_since([no], OWN) == JANUARY
    assert no_tuition_since([no, yes], OWN) is None


@pytest.mark.parametrize(
    ("on", "by", "counts"),
    [
        (JANUARY, 2, False),
        (JANUARY, 1, False),  # a loan before: that was another policy
        (HANDOVER, 2, False),
        (HANDOVER, 1, True),  # the taker may see to it on that day
        (FIRST, None, True),
        (LATER, 7, True),  # a coordinator has seen the policy
    ],
)
def test_that_a_former_keepers_policy_leaves_out_tuition_says_nothing_of_the_takers(
    on: date, by: int | None, counts: bool
) -> None:
    answers = [PolicyAnswer(on, False, "ADI", by)]
    assert no_tuition_since(answers, TAKEN) == (on if counts else None)
    assert tuition_doubt(answers, TAKEN) is (None if counts else FORMER)


@pytest.mark.parametrize(
    ("keeping", "paid", "is_known"),
    [
        (OWN, [], True),  # nobody kept it before
        (TAKEN, [], False),
        (TAKEN, [TaxPaid(JANUARY, 2)], False),
        (TAKEN, [TaxPaid(HANDOVER, 2)], False),
        (TAKEN, [TaxPaid(HANDOVER, 1)], True),
        (TAKEN, [TaxPaid(LATER, 1)], True),
        (TAKEN, [TaxPaid(LATER)], True),
        (TAKEN, [TaxPaid(LATER, 2)], False),
        (TAKEN._replace(registered=2), [], True),  # lent: the lender is registered as before
        (TAKEN._replace(registered=9), [], True),  # another member, before and after
        (TAKEN._replace(registered=1), [], False),  # the taker is registered now: the tax did not come with the car
        (TAKEN._replace(registered=1, formerly=frozenset({1, 2})), [], True),  # lent by the keeper, and back again
    ],
)
def test_tax_does_not_go_with_a_car_to_another_registered_keeper(
    keeping: Holder, paid: list[TaxPaid], is_known: bool
) -> None:
    assert tax_doubt(paid, keeping) is (None if is_known else DayUnknown.TAX_OF_FORMER_KEEPER)


#: 2 kept the car until the handover; 1 lent it to 3 for two days in April.
TIMES = [
    Time(JANUARY, 2),
    Time(FIRST, 1),
    Time(date(2026, 4, 2), 3),
    Time(date(2026, 4, 4), 1),
]


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        (date(2025, 12, 1), Holder(2, "PDI")),  # before the first time it is the first keeper's
        (HANDOVER, Holder(2, "PDI")),
        (FIRST, Holder(1, "ADI", FIRST, frozenset({2}))),
        (date(2026, 4, 3), Holder(3, "ADI", date(2026, 4, 2), frozenset({1, 2}))),
        (date(2026, 4, 4), Holder(1, "ADI", date(2026, 4, 4), frozenset({1, 2, 3}))),
    ],
)
def test_who_keeps_a_car_on_a_day_and_since_when(on: date, expected: Holder) -> None:
    grades = {1: "ADI", 2: "PDI", 3: "ADI"}
    assert holder_on(TIMES, on, OWN._replace(registered=2), grades) == expected._replace(registered=2)


def test_a_car_without_times_is_its_keepers_for_all_days() -> None:
    assert holder_on([], LATER, OWN, {}) is OWN


def test_a_gap_between_two_times_of_one_member_is_no_handover() -> None:
    again = [Time(JANUARY, 2), Time(FIRST, 1), Time(LATER, 1)]
    assert holder_on(again, LATER, OWN, {1: "ADI"}) == Holder(1, "ADI", FIRST, frozenset({2}))
