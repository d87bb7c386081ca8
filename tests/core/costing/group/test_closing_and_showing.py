"""What is kept of a closed month and its year, and what of it is shown."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.core.group import (
    RUNNING_STEPS,
    ClosedPeriod,
    Closing,
    Contribution,
    ContributorValues,
    Rounding,
    close_month,
    close_year,
    is_of_fuel,
    may_have_running,
    quantile,
    rounded,
    running_medians,
    shown,
    shown_running,
)
from costing.core.group.closing import NO_CONTRIBUTION
from costing.core.records import Period
from tests.core.costing.group.values import hours, member, month, up_to

TWENTY = Rounding(20)


def close(values: Sequence[ContributorValues], minimum: int = 5, rounding: Rounding = TWENTY, out: int = 0) -> Closing:
    return close_month(values, out=out, minimum=minimum, rounding=rounding)


# --- A month ----------------------------------------------------------------------------------------------


def test_five_contributors_have_rounded_medians_but_no_quartiles() -> None:
    values = [member(hour, mile=hour // 20) for hour in (709, 500, 900, 600, 800)]

    assert close(values, out=2) == Closing(
        contributors=5,
        out=2,
        minimum=5,
        rounded_to=20,
        median_cost_per_lesson_hour=700,
        median_cost_per_mile=36,
        lower_quartile_cost_per_lesson_hour=None,
        upper_quartile_cost_per_lesson_hour=None,
    )


@pytest.mark.parametrize(("exact", "kept"), [("689.9", 680), ("690", 700), ("709.99", 700), ("710", 720)])
def test_a_median_is_rounded_once_from_the_exact_value_half_up(exact: str, kept: int) -> None:
    assert close(hours(1, 2, Fraction(exact), 900, 950)).median_cost_per_lesson_hour == kept


def test_an_even_number_has_the_mean_of_the_two_middle_values() -> None:
    # 600 and 619.98: rounded one by one they would make 610, and so 620.
    assert close(hours(1, 2, 600, Fraction("619.98"), 900, 950)).median_cost_per_lesson_hour == 600


@pytest.mark.parametrize(("pence", "hour", "mile"), [(10, 700, 34), (20, 700, 34), (50, 700, 35)])
def test_the_members_choose_how_finely(pence: int, hour: int, mile: int) -> None:
    closing = close([member(701, mile=Fraction("34.4"))] * 5, rounding=Rounding(pence))
    assert (closing.median_cost_per_lesson_hour, closing.median_cost_per_mile) == (hour, mile)
    assert closing.rounded_to == pence


def test_eight_contributors_have_quartiles() -> None:
    closing = close(hours(100, 200, 300, 400, 500, 600, 700, 800))

    # Places 7/4 and 21/4 of 0..7: 275 and 625.
    assert closing.lower_quartile_cost_per_lesson_hour == 280
    assert closing.upper_quartile_cost_per_lesson_hour == 620
    seven = close(hours(100, 200, 300, 400, 500, 600, 700))
    assert seven.median_cost_per_lesson_hour == 400
    assert seven.lower_quartile_cost_per_lesson_hour is None
    assert seven.upper_quartile_cost_per_lesson_hour is None


@pytest.mark.parametrize("minimum", [0, 3, 5])
def test_below_five_nothing_is_kept_however_low_the_minimum(minimum: int) -> None:
    assert close(hours(500, 600, 700, 800), minimum) == Closing(4, 0, 5, 20)
    assert not close([]).has_figures
    with pytest.raises(ValueError, match=r"^no values, no quantile$"):
        quantile([], Fraction(1, 2))


def test_a_higher_minimum_holds_for_all() -> None:
    assert close(hours(*range(9)), 10) == Closing(9, 0, 10, 20)
    assert close(hours(*range(10)), 10).lower_quartile_cost_per_lesson_hour is not None


def test_the_median_of_one_value_is_that_value() -> None:
    assert [quantile([Fraction(7)], part) for part in (Fraction(1, 4), Fraction(1, 2), Fraction(1))] == [7, 7, 7]


#: Seven in league. A lower quartile is (260 + 3 x 700) / 4 = 590 from a value of 700 on, so that it is told as 600
#: and not as 580; the median is below (700.02 + 799.98) / 2 = 750, and so told as 740, up to a value of 700.02.
SEVEN = tuple(map(Fraction, ("100", "260", "700", "799.98", "900", "1000", "1100")))


@pytest.mark.parametrize("own", ["700", "700.01", "650", "699.99", "100"])
def test_quartiles_that_would_tell_one_value_too_closely_are_left_out_whatever_the_value(own: str) -> None:
    """If they were left out of the narrow place alone, their absence would tell it."""
    closing = close(hours(*SEVEN, Fraction(own)))
    assert closing.median_cost_per_lesson_hour is not None
    assert closing.lower_quartile_cost_per_lesson_hour is None
    assert closing.upper_quartile_cost_per_lesson_hour is None
    assert not shown(closing, 5).suppressed


def test_a_quarter_of_the_rounding_is_the_least_that_quartiles_leave() -> None:
    def without(highest: str) -> bool:
        """Whether they are left out where the median is 740 up to so much, and the lower quartile 600 from 700 on."""
        beside = Fraction(1_500) - Fraction(highest)
        values = [beside if value == SEVEN[3] else value for value in SEVEN]
        return close(hours(*values, 700)).lower_quartile_cost_per_lesson_hour is None

    assert [without(highest) for highest in ("704.99", "705", "705.01")] == [True, False, False]


def test_a_median_of_another_step_is_no_reason_to_leave_quartiles_out() -> None:
    # With a value of 700.02 or more the median is another, as everybody sees; and there nothing is narrow.
    assert close(hours(*SEVEN, 750)).lower_quartile_cost_per_lesson_hour == 600


@given(st.permutations(range(1, 200, 18)))
def test_figures_do_not_depend_on_who_comes_first(pence: list[int]) -> None:
    closing = close(hours(*pence), rounding=Rounding(10))

    # Sorted 1, 19, .. 199: places 2.75, 5.5 and 8.25 of twelve are 50.5, 100 and 149.5.
    assert (closing.lower_quartile_cost_per_lesson_hour, closing.median_cost_per_lesson_hour) == (50, 100)
    assert closing.upper_quartile_cost_per_lesson_hour == 150


@given(st.lists(st.integers(0, 5_000), min_size=8, max_size=30), st.sampled_from([10, 20, 50]))
def test_quartiles_lie_around_the_median_and_all_are_multiples(pence: list[int], step: int) -> None:
    closing = close(hours(*pence), rounding=Rounding(step))
    lower, median, upper = (
        closing.lower_quartile_cost_per_lesson_hour,
        closing.median_cost_per_lesson_hour,
        closing.upper_quartile_cost_per_lesson_hour,
    )

    assert median is not None
    assume(lower is not None and upper is not None)
    assert lower is not None
    assert upper is not None
    assert min(pence) - step < lower <= median <= upper < max(pence) + step
    assert {lower % step, median % step, upper % step} == {0}


@given(st.fractions(-10_000, 10_000), st.sampled_from([1, 2, 5, 10, 20, 50, Fraction(1, 2)]))
def test_a_rounded_value_is_a_multiple_at_most_half_a_step_away(value: Fraction, step: int | Fraction) -> None:
    result = rounded(value, step)
    assert (result / step).denominator == 1
    assert -Fraction(step) / 2 < result - value <= Fraction(step) / 2


# --- A year -----------------------------------------------------------------------------------------------


def driving(hour: Fraction | int, mile: Fraction | int | None = None) -> ContributorValues:
    """A member's month by their cost a lesson hour, and a mile, of 1,500 miles.

    Without a cost a mile it is so many miles that their pence tell nothing more of the cost than the hour does.
    """
    if mile is None:
        return member(hour, Fraction(hour) / 150, minutes=6_000, miles=15_000)
    return ContributorValues(Fraction(hour), Fraction(mile), 60 * 1_500 * Fraction(mile) / hour, 1_500)


def whole_year(months: Sequence[ContributorValues]) -> ContributorValues:
    cost = sum(month.cost_per_mile * month.miles for month in months)
    minutes, miles = sum(month.weighed_minutes for month in months), sum(month.miles for month in months)
    return ContributorValues(cost * 60 / minutes if minutes else Fraction(0), cost / miles, Fraction(minutes), miles)


def year_of(
    by_hour: list[list[int]],
    by_mile: list[list[Fraction | int]] | None = None,
    *,
    not_closed: int = 0,
    without_value: int = 0,
    without_part: int = 0,
) -> Closing:
    """The year of members by their cost a lesson hour, and a mile, in each month.

    ``without_...``: in so many further months the last of them has cost without a value, or no part at all.
    """
    months: list[tuple[dict[int, Contribution], Closing | None]] = []
    for number, hours_of_month in enumerate(by_hour):
        miles = by_mile[number] if by_mile else [None] * len(hours_of_month)
        values = [driving(hour, mile) for hour, mile in zip(hours_of_month, miles, strict=True)]
        months.append(({key: brings(value) for key, value in enumerate(values)}, close(values)))
    count = len(by_hour[0])
    year = {key: whole_year([parts[key].values for parts, _ in months if parts[key].values]) for key in range(count)}
    first_parts, _ = months[0]
    others = {key: part for key, part in first_parts.items() if key < count - 1}
    closing = close([part.values for part in others.values() if part.values is not None])
    months = [*months[not_closed:], *((parts, None) for parts, _ in months[:not_closed])]
    months += [({**others, count - 1: Contribution(500, None)}, closing)] * without_value
    months += [({**others, count - 1: NO_CONTRIBUTION}, closing)] * without_part
    return close_year(
        up_to(len(months) - 1, len(months)),
        year,
        in_order(months),
        [],
        out=0,
        minimum=5,
        rounding=TWENTY,
    )


def brings(value: ContributorValues) -> Contribution:
    """What a member brings whose values have all that was spent."""
    return Contribution(int(value.cost_per_mile * value.miles), value)


def in_order(months: Sequence[tuple[dict[int, Contribution], Closing | None]]) -> list[ClosedPeriod]:
    """The months of a year from January on."""
    return [ClosedPeriod(month(number), *each) for number, each in enumerate(months)]


def test_a_year_that_tells_no_more_than_its_months_is_kept() -> None:
    # In every month somebody else is in the middle.
    months = [[500 + 40 * ((key + month) % 5) for key in range(5)] for month in range(12)]
    assert year_of(months).median_cost_per_lesson_hour == 580


def test_a_year_whose_months_place_one_member_too_finely_is_not_kept() -> None:
    # Four in league hold the victim in the middle all year. Eleven months tell 690 to 710 and one 710 to 730, so the
    # year lies between 691.67 and 711.67; its own figure, 710 to 730, would leave 710 to 711.67.
    league = [100, 200, 1_000, 1_100]
    months = [[*league, 709]] * 11 + [[*league, 729]]
    assert not year_of(months).has_figures
    assert year_of(months).contributors == 5
    # With all in the middle of their steps the year tells what its months have told.
    assert year_of([[*league, 700]] * 12).median_cost_per_lesson_hour == 700


@pytest.mark.parametrize(
    ("lower", "upper", "kept"),
    # So many months at 690 to 710 and at 710 to 730: with the year's own 710 to 730 they leave 20p times the share of
    # the latter. A quarter of 20p is the least.
    [(10, 2, False), (7, 2, False), (9, 3, True), (8, 3, True)],
)
def test_a_quarter_of_the_rounding_is_the_least_that_a_year_leaves(lower: int, upper: int, kept: bool) -> None:
    league = [100, 200, 1_000, 1_100]
    assert year_of([[*league, 709]] * lower + [[*league, 729]] * upper).has_figures is kept


def test_a_member_who_only_drove_privately_hides_no_year_and_is_hidden_by_none() -> None:
    private = ContributorValues(Fraction(0), Fraction(40), Fraction(0), 1_500)
    values = dict(enumerate([*map(driving, (500, 600, 800, 900)), private]))
    months = in_order([({key: brings(value) for key, value in values.items()}, close(list(values.values())))] * 12)
    whole = {key: whole_year([value] * 12) for key, value in values.items()}
    year = close_year(up_to(11), whole, months, [], out=3, minimum=5, rounding=TWENTY)
    assert (year.contributors, year.out, year.median_cost_per_lesson_hour) == (5, 3, 600)


def test_a_mile_may_not_be_told_too_finely_either() -> None:
    # Only the cost a mile is at its edge: 71p or more in one month, just below in the others.
    league = [100, 200, 1_000, 1_100]
    miles = [Fraction("70.9")] * 11 + [Fraction("72.9")]
    assert not year_of([[*league, 700]] * 12, [[10, 20, mile, 100, 110] for mile in miles]).has_figures


def test_a_month_without_a_value_or_not_closed_leaves_the_year_open() -> None:
    league = [100, 200, 1_000, 1_100]
    months = [[*league, 709]] * 11 + [[*league, 729]]
    assert year_of(months, not_closed=1).has_figures
    assert year_of(months, without_value=1).has_figures
    # But a month in which nothing was spent or driven adds nothing to the year: it hides nothing.
    assert not year_of(months, without_part=1).has_figures


def test_fewer_than_the_minimum_have_no_year() -> None:
    assert not year_of([[500, 600, 700, 800]] * 12).has_figures


# --- Running costs ------------------------------------------------------------------------------------------


def test_running_costs_are_rounded_to_50_pounds_a_year_and_half_a_penny_a_mile() -> None:
    fuels = ("petrol", "diesel", "hybrid", "plugin_hybrid", "electric")
    by_year = ("vehicle_tax_per_year", "breakdown_per_year", "mot", "servicing_per_year", "repairs_per_year")
    assert dict(RUNNING_STEPS) == {
        **{f"fuel_pence_per_mile_{fuel}": Fraction(1, 2) for fuel in fuels},
        **dict.fromkeys(("insurance", *by_year), 50),
    }


def test_a_running_cost_has_a_rounded_median_of_those_who_have_a_value_and_hides_too_few() -> None:
    values = [{"mot": Fraction(pounds), "repairs_per_year": Fraction(124)} for pounds in (50, 54, 40, 60)]
    values += [{"repairs_per_year": Fraction(125)}, {"mot": Fraction(545, 10)}, {}]
    # Five have an MOT and five repairs; asked for six, nobody is told anything.
    assert running_medians(values, 1) == {"mot": 50, "repairs_per_year": 100}
    assert running_medians(values, 6) == {}
    assert running_medians(values[:4], 1) == {}


def test_of_running_costs_it_is_the_middle_value_that_is_kept() -> None:
    values = [{"insurance": Fraction(pounds)} for pounds in (1_500, 700, 1_100, 900, 1_300)]
    assert running_medians(values, 5) == {"insurance": 1_100}
    # Of six it is the mean of the two in the middle: 1,200.
    assert running_medians([*values, {"insurance": Fraction(1_700)}], 5) == {"insurance": 1_200}


def test_whoever_has_one_of_the_two_middle_values_learns_no_more_of_the_other_than_its_step() -> None:
    victim = Fraction(704)
    told = set()
    for known in range(500, 900, 7):
        values = [{"insurance": Fraction(pounds)} for pounds in (100, 200, known, victim, 2_000, 3_000)]
        # Whatever stands beside it, the median is as if the victim's sum were any other of its step.
        same = [{**each, "insurance": Fraction(676)} if each["insurance"] == victim else each for each in values]
        told.add((median := running_medians(values, 5)["insurance"], running_medians(same, 5)["insurance"] == median))
    assert len(told) == 5
    assert {alike for _, alike in told} == {True}


def test_fuel_is_rounded_to_half_a_penny() -> None:
    values = [{"fuel_pence_per_mile_diesel": Fraction("13.75")}] * 5
    assert running_medians(values, 5) == {"fuel_pence_per_mile_diesel": 14}
    values = [{"fuel_pence_per_mile_diesel": Fraction("13.74")}] * 5
    assert running_medians(values, 5) == {"fuel_pence_per_mile_diesel": Fraction("13.5")}


# --- Showing ------------------------------------------------------------------------------------------------

EIGHT = close(hours(100, 200, 300, 400, 500, 600, 700, 800), 6, out=3)


def test_a_figure_is_shown_if_it_reaches_the_minimum_of_then_and_of_today() -> None:
    for today, minimum, suppressed in ((5, 6, False), (8, 8, False), (9, 9, True)):
        seen = shown(EIGHT, today)
        assert (seen.minimum, seen.suppressed) == (minimum, suppressed)
        assert (seen.contributors, seen.out, seen.rounded_to) == (8, 3, 20)
        assert (seen.median_cost_per_lesson_hour is None) is suppressed
        assert (seen.lower_quartile_cost_per_lesson_hour is None) is suppressed
    assert shown(EIGHT, 5).mile_rounded_to == 2


def test_quartiles_of_fewer_than_eight_are_not_shown_whatever_was_kept() -> None:
    seen = shown(EIGHT._replace(contributors=7), 5)
    assert seen.median_cost_per_lesson_hour == 460
    assert seen.lower_quartile_cost_per_lesson_hour is None
    assert seen.upper_quartile_cost_per_lesson_hour is None


def test_fewer_than_five_are_not_shown_whatever_they_were_closed_with() -> None:
    seen = shown(EIGHT._replace(contributors=4, minimum=3), 3)
    assert (seen.minimum, seen.suppressed, seen.median_cost_per_lesson_hour) == (5, True, None)


def test_what_was_not_kept_is_suppressed() -> None:
    seen = shown(close(hours(1, 2, 3)), 1)
    assert seen.suppressed
    assert seen.minimum == 5


def test_running_costs_are_shown_unless_the_minimum_was_raised_since() -> None:
    kept = {"mot": Decimal(50), "insurance": None}
    assert shown_running(kept, 6, 5) == shown_running(kept, 6, 6) == {"mot": Decimal(50)}
    assert shown_running(kept, 6, 7) == {}
    # A minimum below five is five, whatever the year was closed with.
    assert shown_running(kept, 4, 3) == {}


def test_the_medians_of_fuel_are_pence_a_mile_and_the_others_pounds_a_year() -> None:
    assert {key for key in RUNNING_STEPS if is_of_fuel(key)} == {
        key for key in RUNNING_STEPS if key.startswith("fuel_")
    }
    assert not is_of_fuel("insurance")


@pytest.mark.parametrize(
    ("first", "last", "may"),
    [
        (date(2025, 1, 1), date(2025, 12, 31), True),
        (date(2025, 2, 1), date(2026, 1, 31), False),
        (date(2027, 1, 1), date(2027, 12, 31), True),
        (date(2026, 12, 31), date(2027, 12, 30), False),
    ],
)
def test_two_years_that_have_running_costs_share_no_day(first: date, last: date, may: bool) -> None:
    stored = [Period(date(2020, 1, 1), date(2020, 12, 31)), Period(date(2026, 1, 1), date(2026, 12, 31))]
    assert may_have_running(Period(first, last), stored) == may
    assert may_have_running(Period(first, last), [])
