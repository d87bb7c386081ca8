"""A year of running a car by its own records, in the keys of an offers document."""

from datetime import date
from fractions import Fraction

import pytest

from costing.core.car_year import CarYear, car_year, running_by_true_cost
from costing.core.records import Agreement, CarBook, Cost, Fill, Logged, Period, Reading, Service, Teaching

YEAR = Period(date(2025, 3, 1), date(2026, 2, 28))
ALL_YEAR = Service(date(2024, 1, 8), None)
#: Lessons are told to the last day of the year.
LOGGED = (Logged(1, date(2024, 1, 8), YEAR.last),)


def cost(category: str, pence: int, paid_on: date = date(2025, 6, 2), **cover: object) -> Cost:
    return Cost(paid_on, category, pence, **cover)


def filled(miles: int, pence: int, first_on: date = date(2025, 2, 28), last_on: date = YEAR.last) -> tuple[Fill, Fill]:
    """A fill before the year and one on its last day, so that all of its fuel is known."""
    first = Fill(first_on, 10_000, 40_000, "litre", 0, True, False)
    return first, Fill(last_on, 10_000 + miles, 40_000, "litre", pence, True, False)


def with_costs(*costs: Cost, service: Service = ALL_YEAR) -> CarBook:
    return CarBook(service, costs=costs)


def test_a_whole_year_is_told_as_it_was():
    book = with_costs(cost("repairs", 30_000), cost("repairs", 10_000), cost("mot", 5_485), cost("servicing", 26_000))
    assert car_year([book], YEAR).running == {
        "repairs_per_year": 400,
        "mot": Fraction(5_485, 100),
        "servicing_per_year": 260,
    }


def test_half_a_year_in_service_counts_for_two():
    book = with_costs(cost("repairs", 10_000, date(2026, 1, 5)), service=Service(date(2025, 12, 18), None))
    # 73 of 365 days: a fifth.
    assert car_year([book], YEAR).running == {"repairs_per_year": 500}


def test_of_two_cars_the_running_costs_are_of_one_and_the_miles_of_both():
    books = [
        CarBook(
            ALL_YEAR,
            fills=filled(12_000, 0),
            costs=(cost("repairs", pence),),
            logged=LOGGED,
            teaching=(Teaching(date(2025, 5, 1), date(2025, 5, 31), 40, 3_600, 150),),
        )
        for pence in (20_000, 60_000)
    ]
    assert car_year(books, YEAR) == CarYear(
        {"repairs_per_year": Fraction(400)}, Fraction(24_000), Fraction(300), Fraction(120)
    )


def test_what_a_car_was_used_for_in_a_part_of_a_year_is_scaled_to_the_whole():
    # In service for 73 of the 365 days: every count is a fifth of a year's.
    book = CarBook(
        Service(date(2025, 12, 18), None),
        fills=filled(2_500, 0, first_on=date(2025, 12, 17)),
        teaching=(Teaching(date(2026, 1, 5), date(2026, 1, 31), 40, 3_630, 150),),
        logged=LOGGED,
    )
    assert car_year([book], YEAR) == CarYear({}, Fraction(12_500), Fraction(750), Fraction(3_630, 60) * 5)


def test_fuel_is_by_the_miles_of_the_cars_that_were_filled():
    at_no_cost = CarBook(ALL_YEAR, fills=filled(9_000, 0), logged=LOGGED)
    year = car_year([CarBook(ALL_YEAR, fills=filled(10_000, 135_000), logged=LOGGED), at_no_cost], YEAR)
    assert year.running == {"fuel_pence_per_mile": Fraction(27, 2)}
    assert year.miles == 19_000


@pytest.mark.parametrize(
    ("cover", "pounds"),
    [
        ({"covers_from": date(2025, 6, 2), "covers_to": date(2026, 6, 1)}, 910),
        ({"covers_from": date(2027, 6, 2), "covers_to": date(2028, 6, 1)}, 910),  # with a 29 February
        ({"covers_from": date(2025, 6, 1), "covers_to": date(2025, 6, 30)}, Fraction(910 * 365, 30)),
        ({}, 910),
        ({"covers_from": date(2025, 6, 2)}, 910),
    ],
)
def test_a_premium_is_told_for_a_year(cover: dict[str, date], pounds: Fraction):
    assert car_year([with_costs(cost("insurance", 91_000, **cover))], YEAR).running == {"insurance": pounds}


def test_what_was_bought_last_counts_and_neither_refunds_nor_what_was_paid_later():
    book = with_costs(
        cost("tyres", 28_000, date(2024, 9, 2), covers_miles=20_000),
        cost("tyres", 32_000, date(2025, 9, 2), covers_miles=24_000),
        cost("tyres", -4_000, date(2025, 9, 9)),
        cost("tyres", 0, date(2025, 9, 10)),
        cost("tyres", 99_900, date(2026, 3, 1)),
        # It counts whole, whatever days were entered with it.
        cost("fit_out", 44_000, date(2024, 1, 8), covers_from=date(2024, 1, 8), covers_to=date(2024, 2, 6)),
    )
    running = car_year([book], YEAR).running
    assert running == {"tyre_set": 320, "tyre_set_miles": 24_000, "fit_out": 440}


def test_what_was_bought_on_the_last_day_counts_however_little_it_cost():
    assert car_year([with_costs(cost("fit_out", 1, YEAR.last))], YEAR).running == {"fit_out": Fraction(1, 100)}


def test_tyres_without_their_miles_leave_the_miles_open():
    assert car_year([with_costs(cost("tyres", 32_000))], YEAR).running == {"tyre_set": 320}


def test_the_least_that_was_spent_and_driven_is_told():
    # A penny of repairs and of fuel, and one mile.
    book = CarBook(ALL_YEAR, fills=filled(1, 1), costs=(cost("repairs", 1),), logged=LOGGED)
    assert car_year([book], YEAR) == CarYear({"fuel_pence_per_mile": 1, "repairs_per_year": Fraction(1, 100)}, 1)


def test_fuel_of_a_car_that_stood_is_not_spread_over_the_miles_of_another():
    driven, stood = (
        CarBook(ALL_YEAR, fills=filled(miles, pence), logged=LOGGED) for miles, pence in ((10_000, 135_000), (0, 9_000))
    )
    assert car_year([driven, stood], YEAR).running == {"fuel_pence_per_mile": Fraction(27, 2)}


def test_use_and_fuel_are_of_the_days_that_are_known_alone():
    # The last fill is of 31 July: 153 of the 365 days are known, with 15,300 miles and 153 hours.
    book = CarBook(
        ALL_YEAR,
        readings=(Reading(YEAR.last, 99_000),),
        fills=filled(15_300, 153_000, last_on=date(2025, 7, 31)),
        costs=(cost("repairs", 30_000, date(2025, 11, 3)),),
        teaching=(Teaching(date(2025, 3, 1), date(2025, 7, 31), 153, 153 * 60, 0),),
        logged=LOGGED,
    )
    running = {"repairs_per_year": Fraction(300)}
    fuel = {"fuel_pence_per_mile": Fraction(10)}
    assert car_year([book], YEAR) == CarYear(running | fuel, Fraction(36_500), Fraction(0), Fraction(365))
    # 27 days, to 27 March, are too few; and without a teaching record nothing is known.
    assert car_year([book._replace(as_of=date(2025, 3, 27))], YEAR) == CarYear(running)
    assert car_year([book._replace(logged=())], YEAR) == CarYear(running)


def test_the_loss_of_value_is_no_part_of_it():
    book = with_costs(cost("repairs", 30_000))._replace(agreements=(Agreement(ALL_YEAR.first, "owned", 900_000),))
    assert car_year([book], YEAR).running == {"repairs_per_year": 300}
    assert running_by_true_cost([("petrol", book)], YEAR) == {"repairs_per_year": 300}


def test_more_refunded_than_paid_is_no_yearly_cost():
    assert car_year([with_costs(cost("repairs", -5_000))], YEAR) == CarYear({})


@pytest.mark.parametrize("books", [[], [with_costs(cost("repairs", 500), service=Service(date(2026, 2, 2), None))]])
def test_without_a_car_or_under_28_days_nothing_is_told(books: list[CarBook]):
    assert car_year(books, YEAR) == CarYear({})


def test_28_days_in_service_are_enough():
    book = with_costs(cost("repairs", 2_800, date(2026, 2, 5)), service=Service(date(2026, 2, 1), None))
    assert car_year([book], YEAR).running == {"repairs_per_year": 365}


def test_by_true_cost_a_year_is_of_one_car_and_fuel_of_each_kind():
    premium = cost("insurance", 73_000, covers_from=date(2025, 9, 1), covers_to=date(2026, 8, 31))
    petrol = CarBook(ALL_YEAR, fills=filled(10_000, 135_000), costs=(premium, cost("repairs", 30_000)))
    diesel = CarBook(ALL_YEAR, fills=filled(10_000, 120_000), costs=(cost("repairs", 10_000),))
    # Of the premium 181 of 365 days fall in the year: £362, for two cars.
    assert running_by_true_cost([("petrol", petrol), ("diesel", diesel)], YEAR) == {
        "insurance": 181,
        "repairs_per_year": 200,
        "fuel_pence_per_mile_petrol": Fraction(27, 2),
        "fuel_pence_per_mile_diesel": 12,
    }


def test_by_true_cost_what_was_not_spent_on_is_absent_and_a_part_of_a_year_counts_for_the_whole():
    book = with_costs(cost("mot", 1_097, date(2026, 1, 5)), service=Service(date(2025, 12, 18), None))
    assert running_by_true_cost([("electric", book)], YEAR) == {"mot": Fraction(5_485, 100)}
