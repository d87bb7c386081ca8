"""What of a sum counts on another day than its own: before a time with the car, and at the end of it or of a cover."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from costing.core.ends import NOTHING, Shifted, shifted
from costing.core.parts import Part, parts
from costing.core.records import CarBook, Cost, Keeping, Period, Reading, Service
from costing.core.spent import Spent
from tests.core.costing.books import books, periods

ANN, BEN = 1, 2
APRIL = Period(date(2027, 4, 1), date(2027, 4, 30))
#: A pound for each day of 2027.
YEAR = Cost(date(2027, 1, 1), "insurance", 36_500, date(2027, 1, 1), date(2027, 12, 31))
TYRES = Cost(date(2027, 1, 1), "tyres", 31_000, covers_miles=25_000)
READINGS = (Reading(date(2027, 1, 1), 40_000), Reading(date(2027, 4, 20), 45_000))
CAR = CarBook(Service(date(2027, 1, 1), None), READINGS)


def april(day: int) -> date:
    return date(2027, 4, day)


def own(whose: int, *times: tuple[int, date, date | None]) -> CarBook:
    return CAR._replace(keepings=tuple(Keeping(*time) for time in times), whose=whose)


def only(book: CarBook, cost: Cost, period: Period = APRIL) -> Part:
    [part] = parts(Spent(book._replace(costs=(cost,))), period)
    return part


def told(book: CarBook, cost: Cost, period: Period = APRIL) -> Shifted:
    _, _, total = only(book, cost, period)
    assert total is not None
    return shifted(total, period)


FORMER = own(ANN, (ANN, date(2027, 1, 1), april(20)), (BEN, april(21), None))
TAKER = own(BEN, (ANN, date(2027, 1, 1), april(20)), (BEN, april(21), None))
LENT = own(ANN, (ANN, date(2027, 1, 1), april(10)), (BEN, april(11), april(20)), (ANN, april(21), None))


def test_what_is_left_on_the_last_day_with_the_car_counts_on_it() -> None:
    # 110 of 365 days are used by 20 April, 90 of them before April.
    assert only(FORMER, YEAR)[1] == 20 * 100 + 255 * 100
    assert told(FORMER, YEAR) == Shifted(rest=25_500, ended_on=april(20))
    # 5,000 of 25,000 miles are run by then.
    assert told(FORMER, TYRES) == Shifted(rest=24_800, ended_on=april(20))
    assert told(FORMER, YEAR, Period(april(1), april(19))) == NOTHING


def test_what_falls_before_a_time_counts_on_its_first_day() -> None:
    assert told(TAKER, YEAR) == Shifted(before=11_000, begun_on=april(21))
    assert told(LENT, YEAR) == Shifted(before=1_000, begun_on=april(21))
    at_once = Cost(april(12), "repairs", 4_400)
    assert told(LENT, at_once) == Shifted(before=4_400, begun_on=april(21))
    assert told(FORMER, at_once._replace(paid_on=april(25))) == Shifted(rest=4_400, ended_on=april(20))
    assert told(FORMER, at_once) == NOTHING


def test_a_cover_may_end_on_a_day_of_its_own() -> None:
    ended = YEAR._replace(ended_on=april(15))
    assert told(CAR, ended) == told(FORMER, ended) == Shifted(rest=26_000, ended_on=april(15))
    # While another has the car: all that is left then falls before the next time.
    assert told(LENT, ended) == Shifted(before=26_500, begun_on=april(21))
    assert told(FORMER, YEAR._replace(ended_on=april(25))) == Shifted(rest=25_500, ended_on=april(20))


def test_the_last_day_in_service_ends_it_too() -> None:
    scrapped = CAR._replace(service=Service(date(2027, 1, 1), april(20)))
    assert told(scrapped, YEAR) == Shifted(rest=25_500, ended_on=april(20))
    assert told(CAR, YEAR) == NOTHING


@given(books(), periods(), st.integers(0, 500))
def test_two_parts_of_a_period_have_together_what_it_has(book: CarBook, period: Period, offset: int) -> None:
    middle = min(period.last, period.first + timedelta(offset))
    halves = [Period(period.first, middle)]
    if middle < period.last:
        halves.append(Period(middle + timedelta(1), period.last))
    for _, _, total in parts(Spent(book), period):
        if total is None:
            continue
        whole, split = shifted(total, period), [shifted(total, half) for half in halves]
        assert whole.before == sum(one.before for one in split)
        assert whole.rest == sum(one.rest for one in split)
        assert (whole.rest != 0) is (whole.ended_on is not None)
        assert whole.ended_on is None or period.first <= whole.ended_on <= period.last
