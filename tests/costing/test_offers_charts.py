"""The pictures of a comparison: nothing lies outside its frame, and lengths follow the money."""

import re
from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from costing.charts import WIDTH
from costing.core.offers.odds import Odds
from costing.core.offers.terms import Case, Offer, Running, Use
from costing.offers import charts
from costing.offers.odds_chart import odds_chart
from costing.offers.report import OffersReport
from costing.offers.table import OfferColumn, columns_of

USE = Use(date(2027, 1, 1), 24, Fraction(24_000), Fraction(0), Fraction(26), Fraction(46), 38_00)


def columns(*offers: Offer, running: Running | None = None) -> list[OfferColumn]:
    return columns_of(OffersReport(Case(USE, running or Running(), offers)))


def bought(name: str, price: int, value: int = 0) -> Offer:
    return Offer(name, "owned", price=price, value_at_horizon=value)


PENCE = st.integers(0, 5_000_000)


@given(st.lists(st.tuples(PENCE, PENCE), min_size=1, max_size=8), PENCE)
def test_stacked_bars_have_no_gap_and_stay_inside(cars: list[tuple[int, int]], repairs: int) -> None:
    offers = [bought(f"Offer {n}", price, value) for n, (price, value) in enumerate(cars)]
    chart = charts.money_chart(columns(*offers, running=Running(repairs_per_year=repairs)))
    if chart is None:
        assert not repairs
        return
    for bar in chart.bars:
        edges = [part.x for part in bar.parts] + [part.x + part.width for part in bar.parts[-1:]]
        assert edges == sorted(edges)
        assert not edges or (edges[0] == 0 and edges[-1] <= chart.width)
        assert all(one.x + one.width == other.x for one, other in zip(bar.parts, bar.parts[1:], strict=False))
        assert bar.y + 24 <= chart.height
    assert max(part.x + part.width for bar in chart.bars for part in bar.parts) == chart.width


@given(st.lists(st.tuples(PENCE, PENCE), min_size=1, max_size=8))
def test_lines_stay_inside_their_frame(cars: list[tuple[int, int]]) -> None:
    chart = charts.running_chart(columns(*(bought(f"Offer {n}", *car) for n, car in enumerate(cars))))
    for line in chart.lines:
        points = [tuple(map(int, point)) for point in re.findall(r"(-?\d+) (-?\d+)", line.path)]
        assert len(points) == USE.months + 1
        assert all(chart.left <= x <= chart.right and chart.top <= y <= chart.bottom for x, y in points)
        assert (line.x, line.y) in points
    assert len(chart.levels) <= 8
    assert all(chart.top <= at <= chart.bottom for at, _ in chart.levels)


def test_what_comes_back_is_taken_off_the_car_itself() -> None:
    chart = charts.money_chart(columns(bought("Kept its value", 5_000_00, 4_000_00), bought("Lost it", 5_000_00)))
    assert chart is not None
    assert [[part.pence for part in bar.parts] for bar in chart.bars] == [[1_000_00], [5_000_00]]
    assert chart.bars[0].parts[0].width * 5 == chart.width


def test_a_picture_of_nothing_is_not_drawn() -> None:
    assert charts.money_chart(columns(bought("Sold for as much", 5_000_00, 5_000_00))) is None


def test_a_ranges_box_holds_its_middle_and_ends_at_the_edges() -> None:
    two = columns(bought("Cheap", 1_000_00), bought("Dear", 3_000_00))
    odds = [Odds("Cheap", 1.0, 900_00, 1_000_00, 1_200_00), Odds("Dear", 0.0, 2_000_00, 3_000_00, 4_100_00)]
    first, last = odds_chart(two, odds).bars
    assert (first.x, last.x + last.width) == (2, WIDTH - 2)
    for bar in (first, last):
        assert bar.x <= bar.middle <= bar.x + bar.width


def test_a_range_of_one_value_is_still_seen() -> None:
    [bar] = odds_chart(columns(bought("Sure", 1_000_00)), [Odds("Sure", 1.0, 5.0, 5.0, 5.0)]).bars
    assert bar.width == 2


def test_a_long_name_is_cut_in_the_picture_alone() -> None:
    [column] = columns(bought("A name that is far longer than any picture is wide", 1_000_00))
    chart = charts.money_chart([column])
    assert chart is not None
    assert chart.bars[0].label.endswith("…")
    assert column.name in chart.description
