"""What running the car costs, and what is given back of it. Every sum is worked out by hand."""

from datetime import date
from fractions import Fraction

import pytest

from costing.choosing.core.case import Fuel, Running, WeeksOff, WhatIf
from tests.core.costing.choosing.cases import ALL, OWNED, RUNNING, case, one, worked_out

#: It costs nothing but what it costs to run.
CAR = OWNED._replace(price=0, value_now=0, value_at_horizon=0, first_registered=None)


def months_of(running: Running, **use: object) -> dict[int, int]:
    """The months in which something is paid or given back."""
    return {month: pence for month, pence in enumerate(one(CAR, running, **use).flow.months) if pence}


def test_premiums_fall_at_the_start_of_their_years_and_the_last_goes_on() -> None:
    assert months_of(Running(insurance=(1_080_00, 940_00)), months=36) == {0: 1_080_00, 12: 940_00, 24: 940_00}
    assert months_of(Running(insurance=(1_080_00,)), months=12) == {0: 1_080_00}


def test_tax_and_breakdown_cover_are_paid_at_the_start_of_each_year() -> None:
    assert months_of(Running(vehicle_tax_per_year=180_00), months=24) == {0: 180_00, 12: 180_00}
    assert months_of(Running(breakdown_per_year=72_00), months=25) == {0: 72_00, 12: 72_00, 24: 72_00}


# Month 25 leaves 11: 180.00 x 11/12 is 165.00. From another day than the first one month fewer counts: 150.00.
@pytest.mark.parametrize(("starts_on", "tax"), [(date(2027, 3, 1), 165_00), (date(2027, 3, 2), 150_00)])
def test_tax_of_the_whole_months_left_is_given_back(starts_on: date, tax: int) -> None:
    found = one(CAR, Running(vehicle_tax_per_year=180_00), months=25, starts_on=starts_on)
    assert found.flow.parts == {"vehicle_tax": 3 * 180_00, "given_back": -tax}
    assert found.flow.months[25] == -tax


def test_no_tax_comes_back_of_a_last_month_that_has_begun_or_of_a_year_that_is_over() -> None:
    tax = Running(vehicle_tax_per_year=180_00)
    assert "given_back" not in one(CAR, tax, months=23, starts_on=date(2027, 3, 2)).flow.parts
    assert one(CAR, tax, months=23).flow.parts["given_back"] == -15_00
    assert "given_back" not in one(CAR, tax, months=24).flow.parts


# 940.00 x 0.5 x 11/12 is 430.833..., and 1,080.00 x 0.5 x 7/12 is 315.00: rounded down, of the year one leaves in.
def test_the_insurer_pays_back_its_share_of_that_year_s_premium() -> None:
    running = Running(insurance=(1_080_00, 940_00), insurance_given_back=Fraction("0.5"))
    assert one(CAR, running, months=25).flow.parts["given_back"] == -430_83
    assert one(CAR, running, months=5).flow.parts["given_back"] == -315_00
    assert "given_back" not in one(CAR, running._replace(insurance_given_back=None), months=25).flow.parts


def test_nothing_is_given_back_of_breakdown_cover_or_of_what_is_included() -> None:
    assert one(CAR, Running(breakdown_per_year=72_00), months=25).flow.parts == {"breakdown": 3 * 72_00}
    included = CAR._replace(includes=ALL)
    assert worked_out(case(included, months=25))[0].flow.parts == {}


# The car is three on the day itself, and where nobody knows its age. The car of 2028 may lie in the future.
@pytest.mark.parametrize(
    ("first_registered", "nation", "tests"),
    [
        (date(2024, 9, 10), "GB", [12, 24]),
        (date(2025, 3, 1), "GB", [12, 24]),
        (date(2025, 3, 2), "GB", [24]),
        (date(2025, 3, 1), "NI", [24]),
        (date(2028, 1, 1), "GB", []),
        (None, "NI", [12, 24]),
    ],
)
def test_an_mot_is_paid_at_each_year_s_end_once_the_car_is_old_enough(
    first_registered: date | None, nation: str, tests: list[int]
) -> None:
    car = CAR._replace(first_registered=first_registered)
    flow = one(car, Running(mot=54_85), nation=nation).flow
    assert {month: pence for month, pence in enumerate(flow.months) if pence} == dict.fromkeys(tests, 54_85)


def test_an_mot_falls_in_the_month_in_which_one_leaves_too() -> None:
    assert months_of(Running(mot=54_85), months=24) == {12: 54_85, 24: 54_85}
    assert months_of(Running(mot=54_85), months=23) == {12: 54_85}


# 310.00 x 33/12 is 852.50. By the end of months 1, 2 and 3 that is 25.83..., 51.66... and 77.50, rounded down.
def test_servicing_is_one_sum_shared_over_the_months() -> None:
    flow = one(CAR, Running(servicing_per_year=310_00)).flow
    assert flow.parts == {"servicing": 852_50}
    assert flow.months[:4] == (0, 25_83, 25_83, 25_84)
    assert one(CAR, Running(repairs_per_year=380_00)).flow.parts == {"repairs": 1_045_00}


# 57,750 miles wear out 2.625 sets of 22,000: 344.00 x 2.625.
def test_tyres_wear_by_the_mile() -> None:
    tyres = Running(tyre_set=344_00, tyre_set_miles=Fraction(22_000))
    assert one(CAR, tyres).flow.parts == {"tyres": 903_00}


# 57,750 miles at 14.2p; at 4.54609 x 150p / 50 = 13.63827p; at 31p / 3.6 = 8.6111...p; and 30 % of the miles by the
# litre and 70 % by the kWh, 10.11925...p a mile.
@pytest.mark.parametrize(
    ("fuel", "pence"),
    [
        ((Fuel(Fraction("14.2")),), 8_200_50),
        ((Fuel(Fraction(150), "litre", Fraction(50)),), 7_876_10),
        ((Fuel(Fraction(31), "kwh", Fraction("3.6")),), 4_972_92),
        (
            (
                Fuel(Fraction(150), "litre", Fraction(50), Fraction("0.3")),
                Fuel(Fraction(31), "kwh", Fraction("3.6"), Fraction("0.7")),
            ),
            5_843_87,
        ),
    ],
)
def test_fuel_is_paid_by_the_mile_the_litre_or_the_kwh(fuel: tuple[Fuel, ...], pence: int) -> None:
    assert one(CAR, Running(fuel=fuel)).flow.parts == {"fuel": pence}


def test_the_fit_out_is_paid_at_the_start() -> None:
    assert months_of(Running(fit_out=415_00)) == {0: 415_00}


def test_an_offer_s_own_table_is_laid_over_the_common_one() -> None:
    own = Running(fuel=(Fuel(Fraction(8)),), insurance=(600_00,), mot=0)
    [common, other] = worked_out(case(CAR, CAR._replace(name="Other", running=own)))
    assert (common.flow.parts["fuel"], other.flow.parts["fuel"]) == (8_200_50, 4_620_00)
    assert (common.flow.parts["insurance"], other.flow.parts["insurance"]) == (2_960_00, 1_800_00)
    assert "mot" not in other.flow.parts
    # The share that the insurer pays back is the common one: of 600.00, half of three months of twelve is 75.00.
    assert other.flow.parts["given_back"] == -(75_00 + 45_00)
    same = common.flow.parts.keys() - {"fuel", "insurance", "mot", "given_back"}
    assert {part: common.flow.parts[part] for part in same} == {part: other.flow.parts[part] for part in same}


# Six of 121 taught weeks: 57,750 x 115/121 miles, at 14.2p 7,793.86, and 344.00 / 22,000 for each 858.22.
def test_weeks_off_take_miles_and_what_goes_by_them_and_nothing_else() -> None:
    ill = WhatIf("Ill", off=WeeksOff(20, 6))
    [as_planned], [off] = worked_out(case(CAR)), worked_out(case(CAR), what_if=ill)
    assert (off.flow.parts["fuel"], off.flow.parts["tyres"]) == (7_793_86, 858_22)
    by_miles = {"fuel", "tyres"}
    for part in as_planned.flow.parts.keys() - by_miles:
        assert off.flow.parts[part] == as_planned.flow.parts[part]


def test_weeks_off_never_take_more_miles_than_there_are() -> None:
    ill = WhatIf("Ill", off=WeeksOff(1, 6))
    [off] = worked_out(case(CAR, weeks_taught_per_year=Fraction(1), months=12), what_if=ill)
    assert "fuel" not in off.flow.parts
    assert (off.per_mile, off.per_lesson_hour) == (None, None)


# Two of a month's 44/12 taught weeks are left of weeks 4 to 9, of which only the fourth lies inside it.
def test_weeks_off_count_only_before_one_leaves() -> None:
    ill = WhatIf("Ill", off=WeeksOff(4, 6), leave_at_month=1)
    [off] = worked_out(case(CAR, running=Running(fuel=(Fuel(Fraction(10)),))), what_if=ill)
    assert off.flow.parts["fuel"] == 12_727  # 1,750 x (1 - 3/11) miles


# 8,200.50 and a fifth; the private miles stay 2,100 of then 25,200 a year.
def test_more_miles_are_more_lessons() -> None:
    [more] = worked_out(
        case(CAR, running=Running(fuel=RUNNING.fuel)), what_if=WhatIf("More", more_miles=Fraction(1, 5))
    )
    assert more.flow.parts == {"fuel": 9_840_60}
    all_told = CAR._replace(includes=ALL - {"fuel"})
    [more] = worked_out(case(all_told), what_if=WhatIf("More", more_miles=Fraction(1, 5)))
    # 9,840.60 x (1 - 0.26 x 11/12)
    assert (more.total, more.after_tax) == (9_840_60, 7_495_26)


def test_one_big_repair_falls_half_way_unless_repairs_are_included() -> None:
    big = WhatIf("Gearbox", one_repair=900_00)
    for includes, repairs in ((ALL, 0), (ALL - {"repairs"}, 900_00 + 1_045_00)):
        [found] = worked_out(case(CAR._replace(includes=includes)), what_if=big)
        assert found.flow.parts.get("repairs", 0) == repairs
    [found] = worked_out(case(CAR, running=Running()), what_if=big)
    assert found.flow.months[17] == 900_00
    assert found.flow.parts == {"repairs": 900_00}
