from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.depreciation import (
    OwnedSpan,
    ReducingBalance,
    days_losing,
    estimated_loss,
    known_losses,
    owned_spans,
    worth,
)
from costing.core.records import Agreement, CarBook, Period, Service, Valuation

RATE = Decimal("0.15")
IN_SERVICE = date(2027, 3, 1)
SERVICE = Service(IN_SERVICE, None)


def book(*agreements: Agreement, valuations: tuple[Valuation, ...] = ()) -> CarBook:
    return CarBook(SERVICE, agreements=agreements, valuations=valuations)


def owned(day: date, price: int | None) -> Agreement:
    return Agreement(day, "owned", price)


def hired(day: date) -> Agreement:
    return Agreement(day, "weekly_rental", payment=12_900, payments=52, frequency="week")


def value_points(of: CarBook) -> tuple[Valuation, ...]:
    """The known values of the book, whenever it was held as one's own."""
    return tuple(point for span in owned_spans(of) for point in span.points)


def spans(of: CarBook) -> list[tuple[date, date]]:
    """The first and the last day of each time that the car was held as one's own."""
    return [(span.period.first, span.period.last) for span in owned_spans(of)]


ALWAYS = [(date.min, date.max)]
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("pence", "rate", "days", "left"),
    [
        (1_000_000, "0.15", 365, 850_000),
        (1_000_000, "0.15", 730, 722_500),
        (1_000_000, "0.15", 73, 968_019),  # 0.85 to the power of a fifth is 0.9680188
        (1_000_000, "0.15", 0, 1_000_000),
        (1_000_000, "0.15", -5, 1_000_000),
        (1_000_000, "0", 365, 1_000_000),
        (1_000_000, "1", 1, 0),
        (5, "0.5", 365, 3),  # 2.5 pence, half up
        (5, "0.96875", 73, 3),  # a fifth of a year: the fifth root of 1/32 is exactly a half
    ],
)
def test_worth_by_reducing_balance(pence: int, rate: str, days: int, left: int) -> None:
    assert worth(pence, Decimal(rate), days) == left


@pytest.mark.parametrize("rate", ["-0.01", "1.01", "15"])
def test_a_rate_that_is_no_part_of_one_is_refused(rate: str) -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        worth(1_000_000, Decimal(rate), 365)


@given(st.integers(0, 5_000_000), st.integers(0, 4_000), st.integers(0, 4_000))
def test_a_car_never_gains_by_reducing_balance(pence: int, sooner: int, more: int) -> None:
    assert 0 <= worth(pence, RATE, sooner + more) <= worth(pence, RATE, sooner) <= pence


def test_the_price_is_the_value_on_the_first_day_in_service() -> None:
    bought_before = book(owned(date(2027, 2, 10), 1_000_000), valuations=(Valuation(date(2028, 3, 1), 820_000),))

    assert value_points(bought_before) == ((IN_SERVICE, 1_000_000), (date(2028, 3, 1), 820_000))


def test_a_valuation_of_the_first_day_in_service_outdoes_the_price() -> None:
    assert value_points(book(owned(IN_SERVICE, 1_000_000), valuations=(Valuation(IN_SERVICE, 940_000),))) == (
        (IN_SERVICE, 940_000),
    )


def test_valuations_come_in_order_of_day() -> None:
    later, sooner = Valuation(date(2029, 1, 1), 600_000), Valuation(date(2028, 1, 1), 800_000)

    assert value_points(book(owned(IN_SERVICE, None), valuations=(later, sooner))) == (sooner, later)


def test_a_car_without_agreement_goes_by_its_valuations() -> None:
    valuation = Valuation(date(2027, 6, 1), 700_000)

    assert value_points(book(valuations=(valuation,))) == (valuation,)
    assert spans(book()) == ALWAYS


def test_a_hired_car_loses_nothing_of_the_members() -> None:
    only_hired = book(hired(IN_SERVICE), valuations=(Valuation(date(2027, 6, 1), 700_000),))

    assert value_points(only_hired) == ()
    assert spans(only_hired) == []


def test_a_car_bought_after_its_hire_loses_value_from_then_on() -> None:
    bought = date(2028, 3, 1)
    during_hire = Valuation(date(2027, 9, 1), 900_000)
    bought_later = book(owned(bought, 650_000), hired(IN_SERVICE), valuations=(during_hire,))

    assert spans(bought_later) == [(bought, date.max)]
    assert value_points(bought_later) == ((bought, 650_000),)


def test_a_car_hired_then_bought_then_hired_again_loses_value_while_it_was_owned() -> None:
    bought, sold = date(2028, 3, 1), date(2029, 3, 1)
    values = (
        Valuation(date(2027, 9, 1), 900_000),
        Valuation(date(2028, 9, 1), 600_000),
        Valuation(date(2029, 9, 1), 500_000),
    )
    hired_again = book(hired(sold), owned(bought, 650_000), hired(IN_SERVICE), valuations=values)

    assert spans(hired_again) == [(bought, sold - DAY)]
    assert value_points(hired_again) == ((bought, 650_000), (date(2028, 9, 1), 600_000))


def test_a_car_bought_and_later_hired_is_the_members_until_its_hire() -> None:
    hired_later = book(hired(date(2029, 3, 1)), owned(date(2027, 2, 10), 1_000_000))

    assert spans(hired_later) == [(date.min, date(2029, 2, 28))]
    assert value_points(hired_later) == ((IN_SERVICE, 1_000_000),)


def test_each_price_of_a_car_sold_and_bought_back_starts_a_time_of_its_own() -> None:
    sold, again = date(2028, 3, 1), date(2029, 3, 1)
    twice = book(owned(IN_SERVICE, 1_000_000), hired(sold), owned(again, 500_000))

    assert owned_spans(twice) == (
        OwnedSpan(Period(date.min, sold - DAY), (Valuation(IN_SERVICE, 1_000_000),)),
        OwnedSpan(Period(again, date.max), (Valuation(again, 500_000),)),
    )


def test_a_valuation_of_the_day_on_which_a_hired_car_was_bought_outdoes_the_price() -> None:
    bought = date(2028, 3, 1)
    bought_later = book(owned(bought, 650_000), hired(IN_SERVICE), valuations=(Valuation(bought, 640_000),))

    assert value_points(bought_later) == ((bought, 640_000),)


def test_of_two_agreements_of_one_day_the_one_with_a_price_tells_it() -> None:
    assert value_points(book(owned(IN_SERVICE, None), owned(IN_SERVICE, 1_000_000))) == ((IN_SERVICE, 1_000_000),)


def test_of_a_car_hired_before_its_service_the_price_stands_on_the_agreements_first_day() -> None:
    bought = date(2027, 2, 1)

    assert value_points(book(owned(bought, 650_000), hired(date(2026, 2, 1)))) == ((bought, 650_000),)


def test_every_price_stands_on_the_first_day_and_the_first_one_counts() -> None:
    paid_off = date(2029, 3, 1)

    assert value_points(book(owned(paid_off, 540_000), owned(IN_SERVICE, None))) == ((IN_SERVICE, 540_000),)
    assert value_points(book(owned(paid_off, 540_000), owned(IN_SERVICE, 1_000_000))) == ((IN_SERVICE, 1_000_000),)


def test_between_two_values_the_loss_is_shared_by_days() -> None:
    points = (Valuation(date(2027, 3, 1), 1_000_000), Valuation(date(2027, 3, 31), 970_010))
    (loss,) = known_losses(points)

    # 299.90 over the 30 days after 1 March: 9.996 a day by floor.
    assert [loss.by(date(2027, 3, day)) for day in (1, 2, 3, 31)] == [0, 999, 1_999, 29_990]


def test_a_car_that_rose_in_value_is_a_gain() -> None:
    points = (Valuation(date(2027, 3, 1), 1_000_000), Valuation(date(2027, 3, 31), 1_030_000))

    assert [loss.by(date(2027, 3, 31)) for loss in known_losses(points)] == [-30_000]


def since(day: date, *points: Valuation, until: date = date.max) -> OwnedSpan:
    return OwnedSpan(Period(day, until), points)


def test_after_the_last_value_the_loss_is_estimated() -> None:
    loss = estimated_loss(since(IN_SERVICE, Valuation(IN_SERVICE, 1_000_000)), None, RATE)

    assert loss == ReducingBalance(date(2027, 3, 2), date.max, 1_000_000, RATE)
    assert [loss.by(day) for day in (IN_SERVICE, date(2027, 5, 13), date(2028, 2, 29))] == [
        0,
        31_981,
        150_000,
    ]


def test_the_estimate_stops_on_the_last_day_in_service_or_of_ones_own() -> None:
    last = date(2027, 5, 13)
    point = Valuation(IN_SERVICE, 1_000_000)

    for loss in (
        estimated_loss(since(IN_SERVICE, point), last, RATE),
        estimated_loss(since(IN_SERVICE, point, until=last), None, RATE),
    ):
        assert loss is not None
        assert (loss.last, loss.by(date(2030, 1, 1))) == (last, 31_981)


def test_nothing_is_estimated_once_the_car_has_left_or_without_a_value() -> None:
    left = date(2028, 2, 28)

    assert estimated_loss(since(IN_SERVICE, Valuation(left, 800_000)), left, RATE) is None
    assert estimated_loss(since(IN_SERVICE, Valuation(date(2028, 3, 4), 800_000)), left, RATE) is None
    assert estimated_loss(since(IN_SERVICE), left, RATE) is None


@pytest.mark.parametrize(
    ("first", "last", "unknown"),
    [
        (date(2027, 2, 1), date(2027, 2, 28), False),  # not one's own yet
        (date(2027, 3, 9), date(2027, 3, 31), True),
        (date(2027, 3, 10), date(2027, 3, 31), False),
    ],
)
def test_a_worth_is_unknown_on_days_of_ones_own_before_the_first_value(first: date, last: date, unknown: bool) -> None:
    days = Period(first, last)

    assert since(IN_SERVICE, Valuation(date(2027, 3, 10), 800_000)).is_unknown_in(days) is unknown
    assert since(IN_SERVICE).is_unknown_in(days) is (last > IN_SERVICE)


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        (date(2027, 3, 1), date(2027, 3, 31), 30),  # not on the first day of the agreement
        (date(2027, 4, 1), date(2027, 4, 30), 30),
        (date(2027, 2, 1), date(2027, 3, 1), 0),
    ],
)
def test_a_car_loses_value_from_the_day_after_its_price(first: date, last: date, days: int) -> None:
    assert days_losing([book(owned(IN_SERVICE, 1_000_000))], Period(first, last)) == days


def test_days_on_which_two_cars_lose_value_count_once_and_those_of_a_hired_one_not() -> None:
    bought = book(owned(IN_SERVICE, 1_000_000))
    later = book(hired(IN_SERVICE), owned(date(2027, 3, 10), 900_000))
    march = Period(date(2027, 3, 1), date(2027, 3, 31))
    assert days_losing([later], march) == 21
    assert days_losing([bought, later], march) == 30
    assert days_losing([book(hired(IN_SERVICE)), book()], march) == 0
    sold = bought._replace(service=Service(IN_SERVICE, date(2027, 3, 20)))
    assert days_losing([sold], march) == 19
