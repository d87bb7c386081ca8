"""What figures tell of one member, against every value that member could have."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from fractions import Fraction
from itertools import permutations
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from costing.core.group import quantile, rounded
from costing.core.group.disclosure import Span, ValueBounds, tells_too_much, told_by, told_whatever_others_had
from tests.core.costing.group.values import month, up_to

HALF, QUARTER, THREE_QUARTERS = Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)
ONE = Fraction(1)


def told(values: list[Fraction], own: Fraction, parts: tuple[Fraction, ...] = (HALF,), step: int = 20) -> ValueBounds:
    figures = [(part, int(rounded(quantile(values, part), step))) for part in parts]
    return told_by(figures, step, ordered=sorted(values), own=own, weight=ONE)


def over(first: int, count: int, bounds: ValueBounds) -> Span:
    """What is told of so many months from the one of that number."""
    return Span(up_to(first + count - 1, count), bounds, Fraction(0))


def is_too_much(told: Span, known: Sequence[Span], finest: Fraction) -> bool:
    return tells_too_much([told._replace(finest=finest)], [span._replace(finest=finest) for span in known])


def too_much_of(year: ValueBounds, months: Sequence[ValueBounds], finest: Fraction) -> bool:
    """Whether a year tells too much beside its months alone."""
    known = [over(number, 1, bounds) for number, bounds in enumerate(months)]
    return is_too_much(over(0, len(months), year), known, finest)


def fractions_of(*pence: int) -> list[Fraction]:
    return [Fraction(each) for each in pence]


def test_the_one_in_the_middle_is_told_to_the_step() -> None:
    within = ValueBounds(Fraction(690), Fraction(710), ONE)
    assert told(fractions_of(100, 200, 704, 1_000, 1_100), Fraction(704)) == within
    # So too where the next one lies at the edge of the step: beside it the median would be 710, and so 720.
    assert told(fractions_of(100, 200, 704, 710, 1_100), Fraction(704)) == within


def test_one_away_from_the_middle_is_told_on_which_side_they_are() -> None:
    values = fractions_of(500, 560, 640, 720, 800)
    assert told(values, Fraction(800)) == ValueBounds(Fraction(630), inf, ONE)
    assert told(values, Fraction(500)) == ValueBounds(Fraction(0), Fraction(650), ONE)


def test_between_two_of_the_same_step_nothing_is_told() -> None:
    values = fractions_of(500, 641, 642, 643, 800)
    assert told(values, Fraction(642)) == ValueBounds.unknown()


def test_of_an_even_number_the_other_middle_one_shifts_and_widens_what_is_told() -> None:
    # (700 + x) / 2 lies in 690 to 710: x in 680 to 720, and 700 takes part where x is above it.
    assert told(fractions_of(1, 2, 700, 704, 900, 950), Fraction(704)) == ValueBounds(Fraction(680), Fraction(720), ONE)


def test_no_figure_tells_nothing() -> None:
    assert told_by([], 20, ordered=fractions_of(1, 2, 3), own=Fraction(2), weight=ONE) == ValueBounds.unknown()


@given(
    st.lists(st.integers(0, 60), min_size=1, max_size=11),
    st.integers(0, 60),
    st.sampled_from([(HALF,), (QUARTER, HALF, THREE_QUARTERS)]),
)
def test_the_bounds_are_those_between_which_every_value_looks_the_same(
    others: list[int], own: int, parts: tuple[Fraction, ...]
) -> None:
    others = [each * 5 for each in others]
    truth = Fraction(own * 5)
    known = fractions_of(*others)
    found = told([*known, truth], truth, parts)

    def seen(value: Fraction) -> list[Fraction]:
        return [rounded(quantile([*known, value], part), 20) for part in parts]

    # Costs of quarters of a penny from 0 to 40 steps: whoever sees the same cannot tell them apart. What is seen
    # never falls as the value rises, so that those alike lie together.
    every = [Fraction(n, 4) for n in range(3_200)]
    least = every[bisect_left(every, seen(truth), key=seen)]
    most = every[bisect_right(every, seen(truth), key=seen) - 1]
    assert found.low <= least < found.low + 1 or (found.low == 0 and least == 0)
    if found.high == inf:
        assert most == every[-1]
    else:
        assert found.high - 1 < most < found.high


@pytest.mark.parametrize(
    ("year", "months", "finest", "too_much"),
    [
        # The months leave 690 to 710 for the year, and so does its own figure: no finer.
        ((690, 710), [(690, 710)] * 12, 5, False),
        # One penny's width is left, and four and a half, and five.
        ((709, 729), [(690, 710)] * 12, 5, True),
        ((Fraction("705.5"), 725), [(690, 710)] * 12, 5, True),
        ((705, 725), [(690, 710)] * 12, 5, False),
        # A month that tells nothing leaves all to the year's own figure.
        ((709, 729), [(690, 710)] * 11 + [(0, inf)], 5, False),
        # What the months have told by themselves the year need not hide.
        ((0, 710), [(690, 694)] * 12, 5, False),
        # Where the bounds meet in one value, that is all there is.
        ((710, 730), [(690, 710)] * 12, 5, True),
        # Bounds that leave nothing are of records corrected since: nobody knows what they tell.
        ((800, 820), [(690, 710)] * 12, 5, True),
    ],
)
def test_a_year_tells_too_much_where_it_and_its_months_leave_too_little(
    year: tuple[Fraction, float], months: list[tuple[int, float]], finest: int, too_much: bool
) -> None:
    of_year = ValueBounds(Fraction(year[0]), year[1] if year[1] == inf else Fraction(year[1]), Fraction(12))
    of_months = [ValueBounds(Fraction(low), high if high == inf else Fraction(high), ONE) for low, high in months]
    assert too_much_of(of_year, of_months, Fraction(finest)) is too_much


def within(low: Fraction | float | str, high: Fraction | float | str, weight: int = 1) -> ValueBounds:
    """Bounds of a value; a string is an exact number of pence."""
    edges = [bound if bound in (inf, -inf) else Fraction(bound) for bound in (low, high)]
    return ValueBounds(edges[0], edges[1], Fraction(weight))


def test_a_year_may_not_place_an_earlier_one_too_finely() -> None:
    # Of two members' months nothing is told; each year says where thirteen months differ: the first from the last.
    nothing = [over(number, 1, within(0, inf)) for number in range(13)]
    earlier, year = over(0, 12, within(690, 710, 12)), over(1, 12, within(709, 729, 12))
    assert not is_too_much(year, [*nothing, earlier], Fraction(5))
    # But where the first and the last cost the same to 4.8p, the years do to 0.4p: they lie between 708.6 and 710.4.
    ends = [over(0, 1, within("1000", "1002.4")), *nothing[1:12], over(12, 1, within("1000", "1002.4"))]
    assert is_too_much(year, [*ends, earlier], Fraction(5))
    assert is_too_much(year, [*ends, earlier], Fraction("1.3"))
    assert not is_too_much(year, [*ends, earlier], Fraction("1.1"))
    # Without the year before there is nothing to lay it beside.
    assert not is_too_much(year, ends, Fraction(5))


def test_two_years_may_not_place_a_month_too_finely() -> None:
    # Both years to 0.1p an hour: the last month costs what the first does, and 2.4p an hour more or less.
    first = over(0, 1, within(500, 500))
    between = [over(number, 1, within(0, inf)) for number in range(1, 13)]
    earlier, year = over(0, 12, within("699.95", "700.05", 12)), over(1, 12, within("699.95", "700.05", 12))
    assert is_too_much(year, [first, *between, earlier], Fraction("2.5"))
    # The year is known to 0.1p by its own figure; that is as it was rounded.
    assert is_too_much(year, [*between], Fraction("0.2"))
    assert not is_too_much(year, [*between], Fraction("0.1"))


def test_a_cost_an_hour_and_a_cost_a_mile_bound_the_same_pence() -> None:
    # £70 to £72 by 100 hours, £71.90 to £74 by 1,000 miles: together £71.90 to £72, a tenth of a penny an hour.
    by_hour, by_mile = within("70", "72", 100), within("7.19", "7.4", 1_000)
    earlier = [over(number, 1, within(0, inf)) for number in range(12)]

    def spans(*bounds: tuple[ValueBounds, Fraction]) -> list[Span]:
        return [over(0, 12, each)._replace(finest=finest) for each, finest in bounds]

    hour, mile = (by_hour, Fraction("0.5")), (by_mile, Fraction("0.05"))
    assert not tells_too_much(spans(hour), earlier)
    assert not tells_too_much(spans(mile), earlier)
    assert tells_too_much(spans(hour, mile), earlier)
    assert tells_too_much(spans(mile, hour), earlier)
    # Either value may be told to its own finest: the finer of them, in pence, is what counts.
    assert not tells_too_much(spans((by_hour, Fraction("0.1")), (by_mile, Fraction("0.05"))), earlier)
    assert not tells_too_much(spans((by_hour, Fraction("0.5")), (by_mile, Fraction("0.01"))), earlier)
    assert tells_too_much(spans((by_hour, Fraction("0.11")), (by_mile, Fraction("0.011"))), earlier)


def test_what_clashed_before_counts_as_too_close() -> None:
    clash = [over(number, 1, within(690, 710)) for number in range(12)] + [over(0, 12, within(800, 820, 12))]
    assert is_too_much(over(20, 12, within(0, inf, 12)), clash, Fraction(5))
    assert not is_too_much(over(20, 12, within(0, inf, 12)), clash[:12], Fraction(5))


@settings(max_examples=40)
@given(st.data())
def test_what_months_and_overlapping_years_tell_is_what_a_linear_programme_finds(data: st.DataObject) -> None:
    # SciPy's HiGHS, over years of three months: every bound contains the truth, as figures' bounds do.
    count = data.draw(st.integers(3, 6))
    truth = data.draw(st.lists(st.integers(0, 60), min_size=count, max_size=count))
    wide = st.integers(0, 8)
    months = [(number, 1) for number in range(count)]
    years = [(first, 3) for first in range(count - 2)]
    told = []
    for first, length in (*months, *years):
        of = sum(truth[first : first + length])
        told.append(
            over(
                first,
                length,
                within(Fraction(of - data.draw(wide), length), Fraction(of + data.draw(wide), length), length),
            )
        )
    *known, new = told

    def width(of: Span, spans: Sequence[Span]) -> float:
        def row(span: Span) -> list[int]:
            return [int(span.period.first <= month(number).first <= span.period.last) for number in range(count)]

        each = [(row(span), span.bounds) for span in spans]
        rows = [cells for cells, _ in each] + [[-cell for cell in cells] for cells, _ in each]
        ends = [float(told.high * told.weight) for _, told in each] + [
            -float(told.low * told.weight) for _, told in each
        ]
        sides = [
            linprog([way * cell for cell in row(of)], A_ub=rows, b_ub=ends, bounds=(None, None), method="highs").fun
            for way in (1, -1)
        ]
        return float(-sides[1] - sides[0]) / float(of.bounds.weight)

    widths = [(width(of, told), width(of, known)) for of in told]
    for finest in (Fraction(1, 4) + number for number in range(9)):
        narrowed = any(after < min(float(finest), before - 1e-6) for after, before in widths)
        assert is_too_much(new, known, finest) is narrowed


def test_a_month_may_not_be_told_too_finely_by_the_year_either() -> None:
    # Nearly all the private miles fell in one month: it weighs five times what the year does.
    of_year = ValueBounds(Fraction(100), Fraction(120), ONE)
    heavy, light = ValueBounds(Fraction(20), Fraction(40), Fraction(5)), ValueBounds(Fraction(0), Fraction(10), ONE)
    # The year's value is told to 20p, but the heavy month's lies between 20 and 24.
    assert too_much_of(of_year, [heavy, light], Fraction(5))
    assert not too_much_of(of_year, [heavy, light], Fraction(4))


@pytest.mark.parametrize(
    ("year", "left"),
    [
        # 200 to 220 in all, less 17 at the most of the others: the heavy month's value is 36.6 to 40.
        ((100, 110), Fraction("3.4")),
        # 90 to 120 in all, less 5 at the least of the others: it is 20 to 23.
        ((45, 60), Fraction(3)),
    ],
)
@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_what_the_year_leaves_for_a_month_is_what_the_others_do_not_take(
    year: tuple[int, int], left: Fraction, order: tuple[int, ...]
) -> None:
    of_year = ValueBounds(Fraction(year[0]), Fraction(year[1]), Fraction(2))
    heavy = ValueBounds(Fraction(20), Fraction(40), Fraction(5))
    others = ValueBounds(Fraction(1), Fraction(5), Fraction(2)), ValueBounds(Fraction(3), Fraction(7), ONE)
    months = [(heavy, *others)[place] for place in order]
    assert too_much_of(of_year, months, left + Fraction(1, 100))
    assert not too_much_of(of_year, months, left)


@pytest.mark.parametrize(
    ("own", "figure", "bounds"),
    [
        # Within the step; above it; below it. At its upper edge the step is over.
        (704, 700, (690, 710)),
        (710, 700, (690, inf)),
        (690, 700, (690, 710)),
        (689, 700, (0, 710)),
    ],
)
def test_of_an_earlier_month_no_more_is_hoped_for_than_the_figure_itself_gives(
    own: int, figure: int, bounds: tuple[int, float]
) -> None:
    # The others have put their records where the figure would tell nothing of the one, or where it could not have
    # come about at all.
    for others in ((figure, figure, figure, figure), (1, 2, 3, 4)):
        told = told_whatever_others_had(
            [(HALF, figure)], 20, ordered=sorted(fractions_of(*others, own)), own=Fraction(own), weight=ONE
        )
        low, high = bounds
        assert told == ValueBounds(Fraction(low), high if high == inf else Fraction(high), ONE)


@pytest.mark.parametrize(
    ("own", "bounds"),
    # (700 + x) / 2 was rounded to 720: x lies in 720 to 760, which the figure alone, 710 to 730, does not tell of 735.
    # With 760 it would have been 740: then the others' values do not fit, and the figure alone tells.
    [(720, (720, 730)), (735, (720, 760)), (759, (720, 760)), (760, (710, inf))],
)
def test_of_an_earlier_month_what_the_others_values_tell_is_counted_with_if_it_fits(
    own: int, bounds: tuple[int, float]
) -> None:
    ordered = sorted(fractions_of(1, 2, 700, 950, 960, own))
    told = told_whatever_others_had([(HALF, 720)], 20, ordered=ordered, own=Fraction(own), weight=ONE)
    assert told == ValueBounds(Fraction(bounds[0]), bounds[1], ONE)


def test_whoever_had_more_paid_back_than_they_spent_is_not_taken_to_lie_above_nothing() -> None:
    values = fractions_of(-900, -800, -271, 700, 800)
    assert told(values, Fraction(-271)) == ValueBounds(Fraction(-290), Fraction(-270), ONE)
    assert told(values, Fraction(-900)) == ValueBounds(-inf, Fraction(-270), ONE)


@pytest.mark.parametrize(("february", "too_much"), [((-290, -270), True), ((320, 340), True), ((-inf, 340), False)])
def test_a_month_below_nothing_counts_in_the_year_like_any_other(february: tuple[float, int], too_much: bool) -> None:
    # 80 hours at 290 to 310 and 20 below nothing; the year between 190 and 210.
    low = february[0] if february[0] == -inf else Fraction(february[0])
    months = [
        ValueBounds(Fraction(290), Fraction(310), Fraction(80)),
        ValueBounds(low, Fraction(february[1]), Fraction(20)),
    ]
    middle = sum((low if low != -inf else Fraction(-290), Fraction(february[1]))) / 2
    around = (Fraction(300) * 80 + middle * 20) / 100
    year = ValueBounds(around + 6, around + 26, Fraction(100))
    assert too_much_of(year, months, Fraction(5)) is too_much
