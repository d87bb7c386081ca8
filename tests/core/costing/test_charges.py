"""Cover, fuel and what is left when a cover ends."""

from datetime import date

from costing.core.economy import in_order
from costing.core.odometer import CarOdometer
from costing.core.records import Cost, Fill, Reading, Unit
from costing.core.spent import cost_total, fuel_totals

NEW_YEAR = date(2027, 1, 1)
#: 100 miles a day from 10,000 at the end of 1 January.
ODOMETER = CarOdometer([Reading(NEW_YEAR, 10_000), Reading(date(2027, 12, 27), 46_000)], [])

INSURANCE = Cost(date(2026, 12, 20), "insurance", 48_000, NEW_YEAR, date(2027, 12, 31))
TYRES = Cost(date(2027, 1, 10), "tyres", 32_000, covers_miles=25_000)


def used(cost: Cost, *days: date, last: date | None = None, odometer: CarOdometer = ODOMETER) -> list[int]:
    """Pence used by the end of each of ``days``; ``last`` is the last day with the car."""
    total = cost_total(cost, odometer, last)
    return [] if total is None else [total.by(day) for day in days]


def test_cover_by_days_counts_both_ends_whatever_day_it_was_paid() -> None:
    assert used(INSURANCE, date(2026, 12, 31), NEW_YEAR, date(2027, 1, 31), date(2027, 12, 31)) == [
        0,
        131,
        4_076,
        48_000,
    ]


def test_no_cover_is_charged_whole_on_the_day_it_was_paid() -> None:
    refund = Cost(date(2027, 2, 5), "repairs", -5_000)

    assert used(refund, date(2027, 2, 4), date(2027, 2, 5)) == [0, -5_000]


def test_a_cover_with_one_end_alone_is_no_cover() -> None:
    begun = Cost(date(2027, 2, 5), "insurance", 48_000, covers_from=date(2027, 3, 1))
    ended = Cost(date(2027, 2, 5), "insurance", 48_000, covers_to=date(2028, 2, 29))

    for cost in (begun, ended):
        assert used(cost, date(2027, 2, 4), date(2027, 2, 5)) == [0, 48_000]


def test_cover_by_miles_counts_from_the_end_of_the_day_it_was_paid() -> None:
    # 10,900 miles at the end of 10 January, 13,000 at the end of the 31st: 2,100 of 25,000.
    assert used(TYRES, date(2027, 1, 9), date(2027, 1, 10), date(2027, 1, 11), date(2027, 1, 31)) == [
        0,
        0,
        128,
        2_688,
    ]


def test_cover_by_miles_never_goes_beyond_the_sum() -> None:
    # 25,000 miles after 10 January end on 17 September.
    assert used(TYRES, date(2027, 9, 16), date(2027, 9, 17), date(2027, 12, 27)) == [31_872, 32_000, 32_000]


def test_what_is_left_of_a_cancelled_policy_is_charged_the_day_it_ended() -> None:
    cancelled = INSURANCE._replace(ended_on=date(2027, 6, 30))

    assert used(cancelled, date(2027, 6, 29), date(2027, 6, 30), date(2027, 12, 31)) == [
        23_671,
        48_000,
        48_000,
    ]


def test_what_is_left_of_a_tyre_is_charged_the_day_it_was_replaced() -> None:
    replaced = TYRES._replace(ended_on=date(2027, 2, 1))

    assert used(replaced, date(2027, 1, 31), date(2027, 2, 1)) == [2_688, 32_000]


def test_what_is_left_when_the_car_leaves_is_charged_its_last_day() -> None:
    leaving = date(2027, 1, 31)

    assert used(INSURANCE, date(2027, 1, 30), date(2027, 1, 31), last=leaving) == [3_945, 48_000]
    assert used(TYRES, date(2027, 1, 30), date(2027, 1, 31), last=leaving) == [2_560, 32_000]


def test_the_day_a_cover_ended_outdoes_the_cars_last_day() -> None:
    leaving = date(2027, 1, 31)
    kept_on = INSURANCE._replace(ended_on=date(2027, 2, 28))

    assert used(kept_on, date(2027, 1, 31), date(2027, 2, 28), last=leaving) == [4_076, 48_000]


def test_a_cover_that_never_began_is_charged_whole_the_day_it_ended() -> None:
    called_off = INSURANCE._replace(ended_on=date(2026, 12, 28))

    total = cost_total(called_off, ODOMETER, None)
    assert total is not None
    assert (total.first, total.last) == (date(2026, 12, 28), date(2026, 12, 28))
    assert [total.by(date(2026, 12, 27)), total.by(date(2026, 12, 28))] == [0, 48_000]


def test_an_end_after_the_cover_changes_nothing() -> None:
    late = INSURANCE._replace(ended_on=date(2028, 3, 1))
    total = cost_total(late, ODOMETER, None)

    assert total is not None
    assert (total.last, total.by(date(2027, 12, 31))) == (date(2027, 12, 31), 48_000)


def test_cover_by_miles_without_readings_waits_for_its_end() -> None:
    unread = CarOdometer([], [])
    end = date(2027, 2, 1)

    assert cost_total(TYRES, unread, None) is None
    replaced = TYRES._replace(ended_on=end)
    assert used(replaced, date(2027, 1, 31), end, odometer=unread) == [0, 32_000]
    assert used(TYRES, date(2027, 1, 31), end, odometer=unread, last=end) == [0, 32_000]


def fill(day: int, miles: int, pence: int, unit: Unit = "litre") -> Fill:
    return Fill(date(2027, 3, day), miles, 40_000, unit, pence, brimmed=True, gap_before=False)


def spans(*fills: Fill) -> list[tuple[int, int, int]]:
    """First day, last day (of March) and pence of what each fill pays for."""
    return [(span.first.day, span.last.day, span.amount) for span in fuel_totals(in_order(fills))]


def test_a_fill_pays_for_the_days_since_the_one_before() -> None:
    assert spans(fill(9, 1_500, 5_200), fill(2, 1_000, 5_100)) == [(2, 2, 5_100), (3, 9, 5_200)]


def test_a_second_fill_of_a_day_pays_for_that_day_alone() -> None:
    assert spans(fill(2, 1_000, 5_100), fill(9, 1_500, 5_200), fill(9, 1_600, 900)) == [
        (2, 2, 5_100),
        (3, 9, 5_200),
        (9, 9, 900),
    ]


def test_petrol_and_charge_pay_for_days_of_their_own() -> None:
    assert spans(fill(2, 1_000, 5_100), fill(5, 1_200, 800, "kwh"), fill(9, 1_500, 5_200)) == [
        (2, 2, 5_100),
        (5, 5, 800),
        (3, 9, 5_200),
    ]
