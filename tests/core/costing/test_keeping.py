"""One car kept by several members: what of it counts in whose figures, by hand."""

from datetime import date
from decimal import Decimal

import pytest

from costing.core.keeping import days_with_a_car, gave_up, lessons_elsewhere, minutes_in
from costing.core.missing import Reason
from costing.core.records import (
    Agreement,
    CarBook,
    Cost,
    Fill,
    Keeping,
    Logged,
    Period,
    Reading,
    Service,
    Teaching,
    Valuation,
)
from costing.core.running_cost import RunningCost, running_cost

ANN, BEN, CHO = 1, 2, 3
APRIL = Period(date(2027, 4, 1), date(2027, 4, 30))
#: Ann kept the car to 10 April, which is her day, and then gave it to Ben.
HANDED_OVER = (Keeping(ANN, date(2027, 1, 1), date(2027, 4, 10)), Keeping(BEN, date(2027, 4, 11), None))
#: Ben borrowed Ann's car from the 11th to the 14th.
LENT = (
    Keeping(ANN, date(2027, 1, 1), date(2027, 4, 10)),
    Keeping(BEN, date(2027, 4, 11), date(2027, 4, 14)),
    Keeping(ANN, date(2027, 4, 15), None),
)
CAR = CarBook(
    Service(date(2027, 1, 1), None),
    readings=tuple(
        Reading(date(2027, *day), miles)
        for day, miles in (((3, 31), 10_000), ((4, 10), 10_300), ((4, 14), 10_400), ((4, 30), 11_100))
    ),
    keepings=HANDED_OVER,
)


def april(day: int) -> date:
    return date(2027, 4, day)


def cost_of(book: CarBook, whose: int | None, period: Period = APRIL, rate: str = "0") -> RunningCost:
    return running_cost(book._replace(whose=whose), period, depreciation_rate=Decimal(rate))


def on(book: CarBook, whose: int | None, *numbers: int) -> list[int]:
    """Pence of all categories on single days of April."""
    return [cost_of(book, whose, Period(april(day), april(day))).true_cost for day in numbers]


def days_of(book: CarBook, whose: int) -> int:
    """Days of April with the car."""
    return days_with_a_car([book._replace(whose=whose)], APRIL)


def fill(day: date, miles: int, *, anothers: bool = False) -> Fill:
    """40 litres, brimmed; of somebody else's fill nothing but its day and miles is in a member's own book."""
    if anothers:
        return Fill(day, miles, 0, "litre", 0, brimmed=False, gap_before=True, is_anothers=True)
    return Fill(day, miles, 40_000, "litre", 5_600, brimmed=True, gap_before=False)


def test_the_day_of_a_handover_is_the_former_keepers() -> None:
    assert (days_of(CAR, ANN), days_of(CAR, BEN)) == (10, 20)
    assert (cost_of(CAR, ANN).miles, cost_of(CAR, BEN).miles) == (300, 800)
    assert cost_of(CAR, None).miles == 1_100


def test_one_may_keep_a_car_several_times() -> None:
    lent = CAR._replace(keepings=LENT)

    assert (days_of(lent, ANN), days_of(lent, BEN)) == (26, 4)
    assert (cost_of(lent, ANN).miles, cost_of(lent, BEN).miles) == (300 + 700, 100)


def test_a_time_ends_with_the_cars_service_and_days_without_a_keeper_are_nobodys() -> None:
    sold = CAR._replace(service=Service(date(2027, 1, 1), april(20)))
    unkept = CAR._replace(keepings=(HANDED_OVER[0], Keeping(BEN, april(21), None)))

    assert (days_of(sold, ANN), days_of(sold, BEN)) == (10, 10)
    assert (days_of(unkept, ANN), days_of(unkept, BEN)) == (10, 10)
    assert cost_of(sold, BEN, Period(april(21), april(30))).missing == ((Reason.NOT_IN_SERVICE, None),)


def test_a_loan_counts_its_miles_and_lessons_and_gives_no_figure() -> None:
    record = Teaching(april(11), april(14), 8, 720, 20)
    lent = CAR._replace(keepings=LENT, teaching=(record,), logged=(Logged(BEN, april(11), april(14)),))
    loan = cost_of(lent, BEN)

    assert loan.is_borrowed
    assert (loan.miles, loan.lessons, loan.minutes, loan.private_miles) == (100, 8, 720, 20)
    assert (loan.cost_per_mile, loan.cost_per_lesson_hour, loan.cost_per_lesson) == (None, None, None)
    assert loan.missing == ((Reason.BORROWED, None),)


LAST_OF_28 = april(11).replace(month=5, day=8)


@pytest.mark.parametrize(
    ("last", "change", "is_loan"),
    [
        (LAST_OF_28, {}, True),
        (LAST_OF_28.replace(day=9), {}, False),  # 29 days
        (None, {}, False),
        (LAST_OF_28, {"as_of": LAST_OF_28}, True),
        (LAST_OF_28, {"as_of": LAST_OF_28.replace(day=7)}, False),  # not over yet
        (LAST_OF_28, {"fills": (fill(april(12), 10_350),)}, False),
        (LAST_OF_28, {"fills": (fill(april(12), 10_350, anothers=True),)}, True),
        (LAST_OF_28, {"fills": (fill(april(10), 10_300),)}, True),  # before it
        (LAST_OF_28, {"valuations": (Valuation(april(30), 700_000),)}, False),
        (LAST_OF_28, {"valuations": (Valuation(april(10), 700_000),)}, True),
        (LAST_OF_28, {"agreements": (Agreement(april(30), "owned", 700_000),)}, False),
    ],
)
def test_a_time_that_ended_within_28_days_with_neither_fill_nor_value_is_a_loan(
    last: date | None, change: dict[str, object], is_loan: bool
) -> None:
    book = CAR._replace(keepings=(HANDED_OVER[0], Keeping(BEN, april(11), last)), **change)

    assert cost_of(book, BEN).is_borrowed is is_loan


def test_a_car_bought_before_its_first_short_time_is_no_loan() -> None:
    passed_on = (Keeping(ANN, april(1), april(10)), Keeping(BEN, april(11), None))
    bought = CAR._replace(
        service=Service(april(1), None), keepings=passed_on, agreements=(Agreement(date(2027, 3, 20), "owned", 9_000),)
    )

    assert not cost_of(bought, ANN).is_borrowed
    assert cost_of(bought._replace(agreements=()), ANN).is_borrowed


def test_the_last_day_with_a_car_for_good_is_not_that_of_a_loan() -> None:
    lent = CAR._replace(keepings=LENT)

    assert gave_up(CAR._replace(whose=ANN), APRIL)
    assert not gave_up(CAR._replace(whose=ANN), Period(april(11), april(30)))
    assert not gave_up(CAR._replace(whose=BEN), APRIL)
    assert not gave_up(lent._replace(whose=BEN), APRIL)
    assert not gave_up(lent._replace(whose=ANN), APRIL)


def test_economy_takes_both_brims_inside_one_time() -> None:
    stops = [(date(2027, 3, 28), 9_800), (april(5), 10_150), (april(16), 10_500), (april(29), 11_060)]
    whole = CAR._replace(fills=tuple(fill(*stop) for stop in stops))
    anns = CAR._replace(fills=tuple(fill(*stop, anothers=stop[0] > april(10)) for stop in stops))
    bens = CAR._replace(fills=tuple(fill(*stop, anothers=stop[0] <= april(10)) for stop in stops))

    assert cost_of(whole, None).litre_economy == ("litre", 350 + 350 + 560, 120_000)
    assert cost_of(anns, ANN).litre_economy == ("litre", 350, 40_000)
    assert cost_of(bens, BEN).litre_economy == ("litre", 560, 40_000)
    # Filled by Ann before and after Ben had it, the run between is in no economy of hers.
    twice = CAR._replace(keepings=LENT, fills=(fill(april(5), 10_150), fill(april(16), 10_500)))
    assert cost_of(twice, ANN).litre_economy is None
    assert cost_of(twice, None).litre_economy == ("litre", 350, 40_000)


def test_the_price_stands_on_the_first_day_of_the_own_time() -> None:
    book = CAR._replace(
        agreements=(Agreement(date(2026, 12, 20), "owned", 1_000_000), Agreement(april(20), "owned", 800_000)),
        valuations=(Valuation(date(2027, 1, 21), 990_000), Valuation(april(21), 797_000)),
    )

    january = Period(date(2027, 1, 1), date(2027, 1, 31))
    assert cost_of(book, ANN, january).by_category == {"depreciation": 10_000}
    # Ben's price is of 11 April, and Ann's values end with hers of 21 January: no rate, no loss.
    assert cost_of(book, BEN).by_category == {"depreciation": 3_000}
    assert cost_of(book, ANN).by_category == {}
    # The car's own loss: from 990,000 on 21 January to 800,000 on 11 April, 80 days, 11 of them in April.
    assert cost_of(book, None).by_category == {"depreciation": 190_000 - 190_000 * 69 // 80 + 3_000}


def test_a_former_keepers_value_is_not_the_takers() -> None:
    book = CAR._replace(
        agreements=(Agreement(date(2027, 1, 1), "owned", 1_000_000),), valuations=(Valuation(april(1), 900_000),)
    )
    ben = cost_of(book, BEN, rate="0.15")

    assert (Reason.NO_AGREEMENT, None) in ben.missing
    assert ben.is_without_value
    assert ben.by_category == {}
    assert not cost_of(book, ANN).is_without_value
    assert not cost_of(book, None).is_without_value


def test_of_a_car_hired_before_the_price_stands_on_the_agreements_first_day() -> None:
    hire = Agreement(date(2027, 1, 1), "contract_hire", payment=30_000, payments=3)
    bought = CAR._replace(
        agreements=(hire, Agreement(april(1), "owned", 700_000)), valuations=(Valuation(april(11), 690_000),)
    )

    # Of 10,000 over the ten days to the 11th, which is Ben's valuation and none of Ann's.
    assert cost_of(bought, None).by_category == {"depreciation": 10_000}
    assert cost_of(bought, ANN).by_category == {}
    to_the_10th = bought._replace(valuations=(Valuation(april(10), 690_000),))
    assert cost_of(to_the_10th, ANN).by_category == {"depreciation": 10_000}
    assert cost_of(to_the_10th, ANN, Period(date(2027, 3, 1), date(2027, 3, 31))).by_category == {"rental": 30_000}


def test_what_falls_before_a_time_counts_on_its_first_day_and_what_is_left_on_its_last() -> None:
    early = CAR._replace(costs=(Cost(april(1), "repairs", 9_000),))
    assert on(early, BEN, 1, 10, 11, 12) == [0, 0, 9_000, 0]
    late = CAR._replace(costs=(Cost(april(20), "repairs", 7_000),))
    assert on(late, ANN, 9, 10, 20) == [0, 7_000, 0]
    # A year's cover: 99 of 365 days are used by 9 April.
    insured = CAR._replace(costs=(Cost(date(2026, 12, 20), "insurance", 48_000, date(2027, 1, 1), date(2027, 12, 31)),))
    assert on(insured, ANN, 9, 10, 11) == [13_019 - 12_887, 48_000 - 13_019, 0]


def test_what_falls_while_somebody_else_has_the_car_counts_on_the_next_own_day() -> None:
    paid = Cost(april(12), "repairs", 5_000)
    cover = Cost(april(1), "breakdown_cover", 3_000, april(1), april(30))

    assert on(CAR._replace(keepings=LENT, costs=(paid,)), ANN, 10, 12, 15, 16) == [0, 0, 5_000, 0]
    assert on(CAR._replace(keepings=LENT, costs=(cover,)), ANN, 10, 12, 15, 16) == [100, 0, 500, 100]


def test_fuel_after_a_handover_counts_from_the_first_day_of_the_time() -> None:
    # It replaced what was burned since the fill of 5 April: over 6 to 15 April, six days of which end on Ben's first.
    book = CAR._replace(fills=(fill(april(5), 10_150, anothers=True), fill(april(15), 10_450)))

    assert on(book, BEN, 10, 11, 12, 15, 16) == [0, 560 * 6, 560, 560, 0]


def test_cover_by_miles_without_a_reading_is_charged_on_the_last_day_with_the_car() -> None:
    unread = CAR._replace(readings=(), costs=(Cost(april(2), "tyres", 32_000, covers_miles=25_000),))

    assert on(unread, ANN, 9, 10, 11) == [0, 32_000, 0]
    assert cost_of(unread, BEN).true_cost == 0  # Ben goes on waiting for a reading


def test_interest_and_hire_of_other_days_count_in_nobodys_figures() -> None:
    hire = Agreement(april(1), "contract_hire", payment=30_000, payments=1)
    credit = Agreement(april(1), "hire_purchase", 100_000, payment=103_000, payments=1)

    for agreement, pence in ((hire, 30_000), (credit, 3_000)):
        book = CAR._replace(agreements=(agreement,))
        assert cost_of(book, ANN).true_cost == pence // 3
        assert cost_of(book, BEN).true_cost == 0
        assert cost_of(book, None).true_cost == pence


def test_money_for_a_car_one_never_kept_is_in_the_cars_cost_and_in_nobodys_figures() -> None:
    paid = CAR._replace(costs=(Cost(april(12), "repairs", 5_000),))
    cho = cost_of(paid, CHO)

    assert (cho.by_category, cho.money_out, cho.miles, cho.known_until) == ({}, 0, 0, None)
    assert cost_of(paid, None).by_category == {"repairs": 5_000}


def test_a_teaching_record_is_shared_over_its_days_inside_the_time() -> None:
    # Ten days, of which five are Ann's; Ben's own record reaches over his start.
    book = CAR._replace(teaching=(Teaching(april(6), april(15), 20, 1_800, 40),))
    ann = cost_of(book, ANN, Period(april(6), april(7)))

    assert (ann.lessons, ann.minutes, ann.private_miles) == (8, 720, 16)
    assert cost_of(book, BEN, Period(april(11), april(11))).lessons == 4
    # The car's own book knows whose it is.
    of_ann = book._replace(teaching=(book.teaching[0]._replace(member=ANN),))
    assert cost_of(of_ann, None, Period(april(6), april(7))).lessons == 8


def test_lessons_of_somebody_who_does_not_keep_the_car_count_in_no_ratio_of_it_and_are_named() -> None:
    book = CAR._replace(teaching=(Teaching(april(12), april(15), 8, 720, 0, ANN),), logged=())
    of_car = cost_of(book, None)

    assert (of_car.lessons, of_car.minutes) == (0, 0)
    assert (Reason.LESSONS_BY_ANOTHER, april(12)) in of_car.missing


def test_lessons_in_a_car_one_does_not_keep_that_day_count_in_no_ratio_and_are_named() -> None:
    book = CAR._replace(teaching=(Teaching(april(12), april(15), 8, 720, 0),), logged=())
    ann = cost_of(book, ANN)

    assert (ann.lessons, ann.minutes) == (0, 0)
    assert (Reason.LESSONS_ELSEWHERE, april(12)) in ann.missing
    assert Reason.LESSONS_ELSEWHERE not in {found.reason for found in cost_of(book, BEN).missing}


def test_lessons_elsewhere_are_those_in_a_car_that_was_kept_on_none_of_their_days() -> None:
    own = Logged(ANN, april(9), april(12), 1, 60)
    lent, never = Logged(ANN, april(11), april(12), 1, 90), Logged(ANN, april(1), april(3), 2, None)
    none = Logged(ANN, april(4), april(4), 2, 0)
    book = CAR._replace(logged=(own, lent, never, none), whose=ANN)

    assert lessons_elsewhere({1: book}) == [lent, never]
    assert lessons_elsewhere({1: book._replace(logged=None)}) == []
    assert lessons_elsewhere({}) == []


def test_minutes_are_shared_over_the_days_of_their_record() -> None:
    lessons = [Logged(ANN, april(1), april(3), 2, 100), Logged(ANN, april(8), april(8), 2, 30)]

    assert minutes_in(lessons, [Period(april(1), april(2)), Period(april(8), april(9))]) == 66 + 30
    assert minutes_in(lessons, [Period(april(3), april(7))]) == 34
    untold = Logged(ANN, april(3), april(4), 2, None)
    assert minutes_in([*lessons, untold], [Period(april(1), april(3))]) is None
    assert minutes_in([*lessons, untold], [Period(april(5), april(9))]) == 30


def test_a_hire_past_its_term_rolls_on_until_the_next_agreement_or_the_end_of_the_service() -> None:
    # A month from 15 March ends on 14 April; the next one, at the same payment, has 30 days from the 15th.
    hire = Agreement(date(2027, 3, 15), "contract_hire", payment=31_000, payments=1, deposit=3_100)
    by_the_month = CAR._replace(keepings=(), agreements=(hire,))
    assert on(by_the_month, None, 14, 15) == [1_000 + 100, 1_033]
    assert cost_of(by_the_month, None, Period(april(15), date(2027, 5, 14))).by_category == {"rental": 31_000}
    bought = by_the_month._replace(agreements=(hire, Agreement(april(20), "owned", 700_000)))
    assert cost_of(bought, None, Period(april(15), april(30))).by_category == {"rental": 31_000 * 5 // 30}
    sold = by_the_month._replace(service=Service(date(2027, 1, 1), april(16)))
    assert cost_of(sold, None, Period(april(15), april(30))).by_category == {"rental": 31_000 * 2 // 30}
    # Weeks are seven days from its start, and a member's own figures take the own days alone.
    weekly = CAR._replace(
        agreements=(Agreement(april(1), "weekly_rental", payment=7_000, payments=1, frequency="week"),)
    )
    assert cost_of(weekly, ANN).by_category == {"rental": 10_000}
