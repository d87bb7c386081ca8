from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.depreciation import (
    ReducingBalance,
    estimated_loss,
    known_losses,
    owned_from,
    value_points,
    worth,
)
from costing.core.records import Agreement, CarBook, Service, Valuation

RATE = Decimal("0.15")
IN_SERVICE = date(2027, 3, 1)
SERVICE = Service(IN_SERVICE, None)


def book(*agreements: Agreement, valuations: tuple[Valuation, ...] = ()) -> CarBook:
    return CarBook(SERVICE, agreements=agreements, valuations=valuations)


def owned(day: date, price: int | None) -> Agreement:
    return Agreement(day, "owned", price)


def hired(day: date) -> Agreement:
    return Agreement(day, "weekly_rental", payment=12_900, payments=52, frequency="week")


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
    assert owned_from(book()) == IN_SERVICE


def test_a_hired_car_loses_nothing_of_the_members() -> None:
    only_hired = book(hired(IN_SERVICE), valuations=(Valuation(date(2027, 6, 1), 700_000),))

    assert value_points(only_hired) == ()
    assert owned_from(only_hired) is None


def test_a_car_bought_after_its_hire_loses_value_from_then_on() -> None:
    bought = date(2028, 3, 1)
    during_hire = Valuation(date(2027, 9, 1), 900_000)
    bought_later = book(owned(bought, 650_000), hired(IN_SERVICE), valuations=(during_hire,))

    assert owned_from(bought_later) == bought
    assert value_points(bought_later) == ((bought, 650_000),)


def test_a_car_hired_then_bought_then_hired_again_loses_value_from_the_day_it_was_bought() -> None:
    bought, sold = date(2028, 3, 1), date(2029, 3, 1)
    values = Valuation(date(2027, 9, 1), 900_000), Valuation(date(2028, 9, 1), 600_000)
    hired_again = book(hired(sold), owned(bought, 650_000), hired(IN_SERVICE), valuations=values)

    assert owned_from(hired_again) == bought
    assert value_points(hired_again) == ((bought, 650_000), (date(2028, 9, 1), 600_000))


def test_a_car_bought_and_later_hired_is_the_members_from_its_first_day() -> None:
    hired_later = book(hired(date(2029, 3, 1)), owned(date(2027, 2, 10), 1_000_000))

    assert owned_from(hired_later) == IN_SERVICE
    assert value_points(hired_later) == ((IN_SERVICE, 1_000_000),)


def test_a_car_hired_and_bought_on_one_day_is_the_members_from_its_first_day() -> None:
    later = date(2028, 3, 1)

    assert owned_from(book(hired(later), owned(later, 650_000))) == IN_SERVICE


def test_a_valuation_of_the_day_on_which_a_hired_car_was_bought_outdoes_the_price() -> None:
    bought = date(2028, 3, 1)
    bought_later = book(owned(bought, 650_000), hired(IN_SERVICE), valuations=(Valuation(bought, 640_000),))

    assert value_points(bought_later) == ((bought, 640_000),)


def test_of_two_agreements_of_one_day_the_one_with_a_price_tells_it() -> None:
    assert value_points(book(owned(IN_SERVICE, None), owned(IN_SERVICE, 1_000_000))) == ((IN_SERVICE, 1_000_000),)


def test_a_hire_that_ended_before_the_service_leaves_the_price_on_its_first_day() -> None:
    bought_before = book(owned(date(2027, 2, 1), 650_000), hired(date(2026, 2, 1)))

    assert value_points(bought_before) == ((IN_SERVICE, 650_000),)


def test_a_price_of_a_later_agreement_is_of_its_own_day() -> None:
    paid_off = date(2029, 3, 1)

    assert value_points(book(owned(paid_off, 540_000), owned(IN_SERVICE, None))) == ((paid_off, 540_000),)
    assert value_points(book(owned(paid_off, 540_000), owned(IN_SERVICE, 1_000_000))) == ((IN_SERVICE, 1_000_000),)


def test_between_two_values_the_loss_is_shared_by_days() -> None:
    points = (Valuation(date(2027, 3, 1), 1_000_000), Valuation(date(2027, 3, 31), 970_010))
    (loss,) = known_losses(points)

    # 299.90 over the 30 days after 1 March: 9.996 a day by floor.
    assert [loss.by(date(2027, 3, day)) for day in (1, 2, 3, 31)] == [0, 999, 1_999, 29_990]


def test_a_car_that_rose_in_value_is_a_gain() -> None:
    points = (Valuation(date(2027, 3, 1), 1_000_000), Valuation(date(2027, 3, 31), 1_030_000))

    assert [loss.by(date(2027, 3, 31)) for loss in known_losses(points)] == [-30_000]


def test_after_the_last_value_the_loss_is_estimated() -> None:
    points = (Valuation(IN_SERVICE, 1_000_000),)
    loss = estimated_loss(points, SERVICE, RATE)

    assert loss == ReducingBalance(date(2027, 3, 2), date.max, 1_000_000, RATE)
    assert [loss.by(day) for day in (IN_SERVICE, date(2027, 5, 13), date(2028, 2, 29))] == [
        0,
        31_981,
        150_000,
    ]


def test_the_estimate_stops_on_the_last_day_in_service() -> None:
    loss = estimated_loss((Valuation(IN_SERVICE, 1_000_000),), Service(IN_SERVICE, date(2027, 5, 13)), RATE)

    assert loss is not None
    assert (loss.last, loss.by(date(2030, 1, 1))) == (date(2027, 5, 13), 31_981)


def test_nothing_is_estimated_once_the_car_has_left_or_without_a_value() -> None:
    left = Service(IN_SERVICE, date(2028, 2, 28))

    assert estimated_loss((Valuation(date(2028, 2, 28), 800_000),), left, RATE) is None
    assert estimated_loss((Valuation(date(2028, 3, 4), 800_000),), left, RATE) is None
    assert estimated_loss((), left, RATE) is None
