"""What holds for every drawing, whatever its figures: nothing outside, no label on another, no slice lost."""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from config.charts import road_labels
from config.charts.brims import Brim, Brims
from config.charts.chances import Branch, ChancesTree
from config.charts.changes import ChangesFromUpright
from config.charts.dial import LessonHourDial
from config.charts.even import BreakEven
from config.charts.lanes import Lane, LanesAhead
from config.charts.marks import (
    NARROW,
    WIDE,
    Area,
    Bars,
    Box,
    Disc,
    Drawing,
    Drawn,
    Frame,
    Link,
    Mark,
    OfferMark,
    Silhouette,
    Stroke,
    Words,
)
from config.charts.money import MoneyOfOffers, OfferBar
from config.charts.month_names import PATCH
from config.charts.months import ROAD_FROM, Across, Column, MonthsStacked
from config.charts.paints import SCHEMES
from config.charts.pound import EachPound, Part
from config.charts.price import Paid, PricePaid
from config.charts.ranges import OfferRange, RangesOfOffers
from config.charts.rendering import svg
from config.charts.road import Item, RoadAhead
from config.charts.room import RoomBelow
from config.charts.scales import short_money
from config.charts.totals import Band, OfferLine, RunningTotals
from config.charts.tread import Reading, TreadNow, TreadOverMiles, Wheel
from config.look.tokens import OFFERS, STATES, TONES
from tests.config.drawings import CHANCES, DRAWINGS, GROUPS, LIMITS, MONTHS, TODAY

FRAMES = st.sampled_from([NARROW, WIDE])
SUMS = st.integers(-2_000, 90_000)
NAMES = st.text(st.characters(categories=["L", "N", "P", "Zs"]), min_size=1, max_size=24)


def columns() -> st.SearchStrategy[list[Column]]:
    slices = st.one_of(st.just({}), st.dictionaries(st.sampled_from(list(TONES)), SUMS, min_size=1))
    notes = st.sampled_from(["", "", "", "service", "£5.57 in 70 h"])
    column = st.builds(Column, st.just("March 2026"), st.just("Mar"), st.just("M"), slices, notes)
    return st.lists(column, min_size=1, max_size=12)


@st.composite
def months(draw: st.DrawFn) -> MonthsStacked:
    drawn = draw(columns())
    pence = draw(st.lists(st.one_of(st.none(), st.integers(0, 90_000)), min_size=len(drawn), max_size=len(drawn)))
    across = Across("Group", tuple(pence), draw(st.sampled_from([0, 20, 50])))
    return MonthsStacked("Title", GROUPS, tuple(drawn), across, draw(st.sampled_from(["", "You"])))


@st.composite
def totals(draw: st.DrawFn) -> RunningTotals:
    length = draw(st.integers(1, 61))
    rows = st.lists(st.integers(-500_000, 4_000_000), min_size=length, max_size=length)
    letters = [offer.letter for offer in OFFERS][: draw(st.integers(1, len(OFFERS)))]
    months = st.frozensets(st.integers(2, 61).filter(lambda month: month <= length))
    lines = tuple(OfferLine(a, f"Offer {a}", tuple(draw(rows)), draw(months), draw(months)) for a in letters)
    low = lines[0].pence
    bands = (Band(low, tuple(pence + 90_000 for pence in low), ("band: A’s repairs,", "nothing to £100 a month")),)
    return RunningTotals("Title", lines, draw(st.sampled_from([(), bands])))


PARTS = st.lists(
    st.builds(lambda group, pence: Part(group.tone, group.short_words, pence), st.sampled_from(GROUPS), SUMS),
    unique_by=lambda part: part.tone,
).map(tuple)
OFFER_BARS = st.builds(OfferBar, st.sampled_from("ABCDEFGH"), NAMES, PARTS, st.sampled_from(["", "repairs"]))
ITEMS = st.lists(
    st.builds(
        Item,
        st.sampled_from(["MOT", "Insurance", "Service", "Tax", "Breakdown cover"]),
        st.integers(-40, 100).map(lambda days: TODAY + timedelta(days=days)),
        st.sampled_from(list(STATES)),
    ),
    max_size=9,
).map(tuple)
LANES = st.lists(st.builds(Lane, NAMES, NAMES, ITEMS, st.booleans()), max_size=12).map(tuple)
DEPTHS = st.floats(0, 9).map(lambda depth: round(depth, 1))
WHEELS = st.lists(st.builds(Wheel, st.just("Front left"), st.one_of(st.none(), DEPTHS)), min_size=1, max_size=4)


@st.composite
def wear(draw: st.DrawFn) -> TreadOverMiles:
    miles = sorted(draw(st.lists(st.integers(0, 200_000), min_size=2, max_size=8, unique=True)))
    readings = tuple(Reading(at, draw(DEPTHS)) for at in miles)
    fitted = (Reading(miles[0], 6.0), Reading(miles[-1], 0.0)) if draw(st.booleans()) else None
    return TreadOverMiles("Title", readings, fitted, LIMITS)


@st.composite
def even(draw: st.DrawFn) -> BreakEven:
    price, variable, fixed = draw(st.integers(0, 20_000)), draw(st.floats(0, 9_000)), draw(st.floats(0, 90_000))
    crosses = fixed / (price - variable) if price > variable + 0.01 else None
    return BreakEven("Title", price, variable, fixed, crosses, draw(st.one_of(st.none(), st.floats(0, 168))))


@st.composite
def ranges(draw: st.DrawFn) -> RangesOfOffers:
    found = []
    for offer in OFFERS[: draw(st.integers(1, len(OFFERS)))]:
        low, middle, high = sorted(draw(st.lists(st.integers(-90_000, 4_000_000), min_size=3, max_size=3)))
        found.append(OfferRange(offer.letter, "Offer", low, middle, high))
    return RangesOfOffers("Title", tuple(found))


@st.composite
def chances(draw: st.DrawFn) -> ChancesTree:
    shares = draw(st.lists(st.integers(1, 100), min_size=1, max_size=6))
    months = sorted(draw(st.lists(st.integers(1, 120), min_size=len(shares), max_size=len(shares), unique=True)))
    branches = (
        Branch(share / sum(shares), month, f"{share} in 100", draw(NAMES))
        for share, month in zip(shares, months, strict=True)
    )
    return ChancesTree("Title", tuple(branches))


FIGURES = st.one_of(st.integers(0, 100_000), st.integers(4_000, 4_600))


@st.composite
def days_in_order(draw: st.DrawFn) -> list[date]:
    ahead = sorted(draw(st.lists(st.integers(0, 5 * 366), min_size=1, max_size=60)))
    return [TODAY + timedelta(days=days) for days in ahead]


@st.composite
def brims(draw: st.DrawFn) -> Brims:
    told = tuple(Brim(on, draw(FIGURES), draw(FIGURES)) for on in draw(days_in_order()))
    usual = draw(st.one_of(st.none(), st.tuples(FIGURES, FIGURES).map(lambda pair: (min(pair), max(pair)))))
    return Brims("Title", told, usual)


@st.composite
def prices(draw: st.DrawFn) -> PricePaid:
    return PricePaid("Title", tuple(Paid(on, draw(FIGURES)) for on in draw(days_in_order())))


DRAWN: st.SearchStrategy[Drawn] = st.one_of(
    chances(),
    months(),
    totals(),
    st.builds(EachPound, st.just("Title"), PARTS),
    st.builds(MoneyOfOffers, st.just("Title"), st.lists(OFFER_BARS, min_size=1, max_size=8).map(tuple)),
    st.builds(ChangesFromUpright, st.just("Title"), PARTS),
    even(),
    ranges(),
    st.builds(RoadAhead, st.just("Title"), st.just(TODAY), ITEMS, st.booleans()),
    st.builds(TreadNow, st.just("Title"), WHEELS.map(tuple), st.just(LIMITS)),
    wear(),
    brims(),
    prices(),
    st.builds(LessonHourDial, st.just("Title"), st.integers(0, 900)),
    st.builds(RoomBelow, st.just("Title"), st.sampled_from("ABCDEFGH"), NAMES, st.integers(1, 10**9).map(short_money)),
)


def boxes(mark: Mark) -> Iterator[Box]:
    """The room that a mark takes; a stroke's with its thickness."""
    if isinstance(mark, Words):
        yield mark.box
    elif isinstance(mark, Bars):
        yield from mark.boxes
    elif isinstance(mark, Disc):
        reach = mark.radius + mark.edge_width / 2
        yield Box(mark.x - reach, mark.y - reach, 2 * reach, 2 * reach)
    elif isinstance(mark, Silhouette | OfferMark):
        yield Box(mark.x - mark.size / 2, mark.y - mark.size / 2, mark.size, mark.size)
    elif isinstance(mark, Link):
        yield mark.box
    elif isinstance(mark, Area):
        yield _around([mark.points], 0)
    else:
        yield _around(mark.lines, mark.width / 2)


def _around(lines: tuple[tuple[tuple[float, float], ...], ...] | list, reach: float) -> Box:
    xs, ys = [x for line in lines for x, _ in line], [y for line in lines for _, y in line]
    # A stroke has flat ends: across its own way it is as thick as it is, along it no longer.
    across, down = (0.0, reach) if len(set(ys)) == 1 else (reach, 0.0) if len(set(xs)) == 1 else (reach, reach)
    return Box(min(xs) - across, min(ys) - down, max(xs) - min(xs) + 2 * across, max(ys) - min(ys) + 2 * down)


def outside(drawing: Drawing) -> list[Mark]:
    return [
        mark
        for mark in drawing.marks
        for box in boxes(mark)
        if box.x < -1 or box.y < -1 or box.right > drawing.width + 1 or box.bottom > drawing.height + 1
    ]


def on_each_other(drawing: Drawing) -> list[tuple[str, str]]:
    words = [mark for mark in drawing.marks if isinstance(mark, Words)]
    return [(one.text, two.text) for one, two in combinations(words, 2) if one.box.meets(two.box, -1)]


@settings(max_examples=300, deadline=None)
@given(DRAWN, FRAMES)
def test_nothing_leaves_the_picture_and_no_label_lies_on_another(drawn: Drawn, frame: Frame) -> None:
    drawing = drawn.draw(frame)
    assert not outside(drawing)
    assert not on_each_other(drawing)
    assert drawing.title
    assert drawing.description


@settings(max_examples=60, deadline=None)
@given(LANES)
def test_lanes_stay_within_the_picture_and_their_labels_apart(lanes: tuple[Lane, ...]) -> None:
    drawing = LanesAhead("Title", TODAY, lanes).draw(WIDE)
    assert not outside(drawing)
    assert not on_each_other(drawing)


@settings(max_examples=60, deadline=None)
@given(DRAWN, FRAMES)
def test_every_bar_has_its_tone_and_pattern_and_every_number_at_most_one_decimal(drawn: Drawn, frame: Frame) -> None:
    drawing = drawn.draw(frame)
    written = svg(drawing, "x")
    for tone in drawing.tones:
        assert f'class="c-{tone}" fill="{TONES[tone].light}"' in written
        assert (f'id="x-{tone}"' in written) is bool(TONES[tone].marks)
        assert (f"url(#x-{tone})" in written) is bool(TONES[tone].marks)
    data = " ".join(re.findall(r'(?: d| x| y| cx| cy| r)="([^"]*)"', re.sub(r"<(defs|g) .*?</\1>", "", written)))
    assert not re.search(
        r"\d\.\d\d", re.sub(r"<defs>.*?</defs>|<g .*?</g>", "", written, flags=re.DOTALL).split("<desc")[0]
    )
    assert "e-" not in data
    assert "style=" not in written


@given(months(), FRAMES)
@settings(max_examples=120, deadline=None)
def test_the_slices_of_a_column_add_up_to_it_to_the_tenth_of_a_unit(what: MonthsStacked, frame: Frame) -> None:
    drawing = what.draw(frame)
    bars = [box for mark in drawing.marks if isinstance(mark, Bars) for box in mark.boxes if box.width != PATCH]
    placed = Counter(box.x for box in bars)
    heights = {x: sum(box.height for box in bars if box.x == x) for x in placed}
    told = [column for column in what.columns if any(column.slices.values())]
    assert len(placed) == len(told)
    sizes = [sum(map(abs, column.slices.values())) for column in told]
    # Each column's ends are rounded to the tenth, above the axis and below it.
    pairs = list(zip((heights[x] for x in sorted(heights)), sizes, strict=True))
    scale = max(((size, height / size) for height, size in pairs), default=(0, 0))[1]
    assert all(abs(height - size * scale) <= 0.31 for height, size in pairs)


def strokes(drawing: Drawing, paint: str) -> list[Stroke]:
    return [mark for mark in drawing.marks if isinstance(mark, Stroke) and mark.paint == paint]


@pytest.mark.parametrize("frame", [NARROW, WIDE])
def test_the_line_across_is_as_thick_as_its_rounding(frame: Frame) -> None:
    drawing = MONTHS.draw(frame)
    [line] = [stroke for stroke in strokes(drawing, "ink") if len(stroke.lines) == 2]
    # £2 on the axis are as far apart as the two hairlines; 20p are a tenth of that.
    two, four = sorted((stroke.lines[0][0][1] for stroke in strokes(drawing, "grid")), reverse=True)
    assert line.width == pytest.approx((two - four) / 10)
    has_dashes = any(stroke.dashes for stroke in strokes(drawing, "card"))
    assert has_dashes is (line.width >= ROAD_FROM)


def test_a_month_without_a_figure_is_an_open_box_and_a_gap_in_the_line() -> None:
    drawing = MONTHS.draw(WIDE)
    [box] = [stroke for stroke in strokes(drawing, "quiet") if stroke.dashes]
    assert len(box.lines) == 1
    assert "May 2026: not known" in drawing.description


def test_of_more_than_two_reasons_those_of_the_dearest_months_are_shown() -> None:
    slices = [{"fuel": pence} for pence in (100, 400, 300, 200)]
    told = tuple(Column("May", "May", "M", part, f"at {part['fuel']}") for part in slices)
    drawing = MonthsStacked("Title", GROUPS, told).draw(WIDE)
    shown = {mark.text for mark in drawing.marks if isinstance(mark, Words)}
    assert {"at 400", "at 300"} <= shown
    assert not {"at 100", "at 200"} & shown


def test_a_reason_beside_a_higher_month_stands_above_its_own() -> None:
    sums = (1_200, 20, 600, 70, 20, 300)
    notes = ("insurance", "", "tax bill", "", "", "")
    told = tuple(Column("May", "May", "M", {"fuel": pence}, note) for pence, note in zip(sums, notes, strict=True))
    marks = MonthsStacked("Title", GROUPS, told).draw(NARROW).marks
    above = {mark.text: mark.box for mark in marks if isinstance(mark, Words)}
    [bars] = [mark for mark in marks if isinstance(mark, Bars) and len(mark.boxes) == len(sums)]
    assert above["insurance"].bottom <= bars.boxes[0].y < above["tax bill"].y
    assert bars.boxes[2].y - above["tax bill"].bottom < 10


@pytest.mark.parametrize("frame", [NARROW, WIDE])
@pytest.mark.parametrize("back", [1, -1])
def test_no_line_across_strikes_through_a_reason(frame: Frame, back: int) -> None:
    sums, line = (530, 610, 720, 630, 480, 360)[::back], (None, None, 740, 500, 500, 380)[::back]
    notes = ("", "", "value", "servicing", "", "")[::back]
    told = tuple(Column("May", "May", "M", {"fuel": pence}, note) for pence, note in zip(sums, notes, strict=True))
    drawing = MonthsStacked("Title", GROUPS, told, Across("Group", line)).draw(frame)
    reasons = [mark.box for mark in drawing.marks if isinstance(mark, Words) and mark.text in notes and mark.text]
    assert len(reasons) == 2
    [across] = [stroke for stroke in strokes(drawing, "ink") if len(stroke.lines[0]) > 2]
    [run], half = across.lines, across.width / 2
    for (x, y), (to_x, to_y) in pairwise(run):
        piece = Box(min(x, to_x) - half, min(y, to_y) - half, abs(to_x - x) + 2 * half, abs(to_y - y) + 2 * half)
        assert not any(box.meets(piece, 0) for box in reasons)


def test_of_months_ahead_no_sum_is_told_beside_them() -> None:
    told = tuple(Column("May", "May", "M", {tone: 400}) for tone in ("fuel", "tax"))
    marks = MonthsStacked("Title", GROUPS, told, tells_last=False).draw(WIDE).marks
    words = [mark.text for mark in marks if isinstance(mark, Words)]
    assert {"Fuel, charge", "Tax, MOT"} <= set(words)
    assert "4.00" not in words
    assert words.count("May") == 2


def test_months_beside_each_other_share_a_reason() -> None:
    told = tuple(Column("May", "May", "M", {"fuel": pence}, "service") for pence in (400, 300))
    words = [mark for mark in MonthsStacked("Title", GROUPS, told).draw(WIDE).marks if isinstance(mark, Words)]
    assert [mark.text for mark in words].count("service") == 1


def test_the_names_beside_the_last_month_are_in_the_order_of_its_slices() -> None:
    drawing = MONTHS.draw(WIDE)
    names = [group.words for group in GROUPS] + ["You", "Group"]
    shown = sorted(
        (mark for mark in drawing.marks if isinstance(mark, Words) and mark.text in names), key=lambda m: -m.y
    )
    assert [mark.text for mark in shown] == names


@pytest.mark.parametrize("frame", [NARROW, WIDE])
def test_the_sums_beside_the_last_month_that_is_told_say_which_it_is(frame: Frame) -> None:
    columns = (*MONTHS.columns[:10], Column("September 2026", "Sep", "S", {}))
    words = [mark for mark in MonthsStacked("Title", GROUPS, columns).draw(frame).marks if isinstance(mark, Words)]
    head, *sums = sorted((mark for mark in words if mark.anchor == "end" and mark.x == frame.width), key=lambda m: m.y)
    assert head.text == "Aug"
    assert head.box.y >= 0
    assert not any(head.box.meets(mark.box) for mark in words if mark is not head)
    assert len(sums) == len(GROUPS)


@pytest.mark.parametrize("frame", [NARROW, WIDE])
def test_a_whole_month_stands_beside_the_line_of_the_same_month(frame: Frame) -> None:
    words = [mark for mark in MONTHS.draw(frame).marks if isinstance(mark, Words)]
    sums = {mark.y: mark.text for mark in words if mark.anchor == "end" and mark.x == frame.width}
    [own] = [mark for mark in words if mark.text == "You"]
    [group] = [mark for mark in words if mark.text == "Group"]
    assert (sums[own.y], sums[group.y]) == ("4.58", "4.60")
    assert own.is_bold
    assert group.is_bold


def test_two_lines_that_cross_are_told_once_and_those_that_touch_are_not() -> None:
    def said(*rows: tuple[int, ...]) -> str:
        lines = tuple(OfferLine("AB"[index], "Offer", row) for index, row in enumerate(rows))
        return RunningTotals("Title", lines).draw(WIDE).description

    assert "Month 3: A goes under B." in said((300, 200, 100, 0), (0, 100, 200, 300))
    assert "goes under" not in said((300, 200, 300), (100, 200, 100))
    assert said((300, 200, 200, 100), (100, 200, 200, 300)).count("goes under") == 1
    # There and back: only that which lasts is told.
    back = said((300, 100, 300, 100), (200, 200, 200, 200))
    assert back.count("goes under") == 1
    assert "Month 4: A goes under B." in back


@pytest.mark.parametrize("months", [24, 36, 42])
@pytest.mark.parametrize("frame", [NARROW, WIDE])
def test_no_upright_of_a_crossing_strikes_through_the_words_of_a_band(frame: Frame, months: int) -> None:
    a = tuple(4_000_00 + 100_00 * month for month in range(1, months + 1))
    seen = 0
    for turn in range(2, months):
        b = tuple(a[month] + (month - turn) * 300_00 for month in range(months))
        lines = OfferLine("A", "Offer", a), OfferLine("B", "Offer", b)
        band = Band(a, tuple(pence + 900_00 for pence in a), ("band: A", "within its ranges"))
        drawing = RunningTotals("Title", lines, (band,)).draw(frame)
        named = [mark.box for mark in drawing.marks if isinstance(mark, Words) and mark.text in band.words]
        uprights = [_around([line], 1) for mark in strokes(drawing, "ink") for line in mark.lines if _is_upright(line)]
        assert not any(box.meets(upright) for box in named for upright in uprights)
        seen += bool(named and uprights)
    assert seen > months / 2


def _is_upright(line: tuple[tuple[float, float], ...]) -> bool:
    return len({x for x, _ in line}) == 1


def test_where_not_all_is_told_no_crossing_is_named_and_the_line_is_thin() -> None:
    falls, rises = (300, 200, 100, 0), (0, 100, 200, 300)
    for line in (OfferLine("A", "Offer", falls, frozenset({3})), OfferLine("A", "Offer", falls, frozenset({2}))):
        drawing = RunningTotals("Title", (line, OfferLine("B", "Offer", rises))).draw(WIDE)
        assert "goes under" not in drawing.description
        assert {stroke.width for stroke in strokes(drawing, "o-a")} == {1.5, 3}
    whole = OfferLine("A", "Offer", falls, frozenset({4}))
    drawing = RunningTotals("Title", (whole, OfferLine("B", "Offer", rises))).draw(WIDE)
    assert "Month 3: A goes under B." in drawing.description
    assert "A, Offer, ends at £0 of what is told" in drawing.description


def test_a_line_is_cut_where_it_leaps_and_where_it_turns_thin() -> None:
    line = OfferLine("A", "Offer", (1, 2, 3, 9, 10, 11), frozenset({2, 3, 4}), frozenset({4}))
    assert list(line.pieces()) == [
        (range(1, 3), True),
        (range(2, 4), False),
        (range(4, 6), False),
        (range(5, 7), True),
    ]
    [leap] = [stroke for stroke in strokes(RunningTotals("Title", (line,)).draw(WIDE), "o-a") if stroke.width == 1]
    assert len(leap.lines) == 1


def test_the_likelier_a_way_the_thicker_and_the_longer_the_farther() -> None:
    drawing = CHANCES.draw(WIDE)
    ways = strokes(drawing, "accent")
    assert sorted(way.width for way in ways) == [
        way.width for way in sorted(ways, key=lambda way: CHANCES.branches[ways.index(way)].chance)
    ]
    assert [way.lines[0][-1][0] for way in ways] == sorted(way.lines[0][-1][0] for way in ways)
    assert drawing.description.startswith("25 in 100: Leave in month 7. ")


def test_things_of_one_day_stand_as_one_by_the_worst_state_among_them() -> None:
    on = TODAY + timedelta(days=9)
    drawing = RoadAhead("Title", TODAY, (Item("Tax", on, "later"), Item("MOT", on, "due"))).draw(NARROW)
    assert [mark.shape.name for mark in drawing.marks if isinstance(mark, Silhouette)] == ["due"]
    assert {"MOT, Tax", "4 Dec"} <= {mark.text for mark in drawing.marks if isinstance(mark, Words)}
    assert drawing.description == "MOT 4 Dec, 9 days ahead; Tax 4 Dec, 9 days ahead."


def test_a_day_by_forecast_says_so_below_the_road_and_in_words() -> None:
    items = (Item("Service", TODAY + timedelta(days=9), "due", is_forecast=True), Item("MOT", TODAY, "due"))
    drawing = RoadAhead("Title", TODAY, items).draw(NARROW)
    assert drawing.description == "MOT 25 Nov, today; Service about 4 Dec, 9 days ahead."
    assert "about 4 Dec" in {mark.text for mark in drawing.marks if isinstance(mark, Words)}


def test_of_one_day_a_recorded_one_and_a_forecast_are_told_as_the_recorded_day() -> None:
    items = (Item("Service", TODAY, "due", is_forecast=True), Item("MOT", TODAY, "due"))
    [stone] = RoadAhead("Title", TODAY, items).drawn
    assert (stone.words, stone.day) == ("Service, MOT", "25 Nov")


def test_what_lies_beyond_the_road_is_not_on_it_and_what_is_overdue_stands_at_today() -> None:
    items = (Item("Tax", date(2027, 6, 1), "later"), Item("MOT", TODAY - timedelta(days=5), "overdue"))
    drawing = RoadAhead("Title", TODAY, items).draw(NARROW)
    [disc] = [mark for mark in drawing.marks if isinstance(mark, Disc)]
    assert disc.x < 20
    assert drawing.description == "MOT 20 Nov, 5 days ago."


def discs(drawing: Drawing) -> list[Disc]:
    return sorted((mark for mark in drawing.marks if isinstance(mark, Disc)), key=lambda disc: disc.x)


def test_all_that_is_overdue_is_one_stone_at_today_and_pushes_nothing_along() -> None:
    overdue = tuple(
        Item(name, TODAY - timedelta(days=ago), "overdue") for name, ago in (("MOT", 5), ("Tax", 9), ("A", 1))
    )
    due = Item("Service", TODAY + timedelta(days=12), "due")
    alone = discs(RoadAhead("Title", TODAY, (due,)).draw(NARROW))[-1]
    first, second = discs(RoadAhead("Title", TODAY, (*overdue, due)).draw(NARROW))
    assert first.x == 14
    assert second.x == alone.x
    [stone, _] = RoadAhead("Title", TODAY, (*overdue, due)).drawn
    assert (stone.words, stone.day) == ("Tax, MOT, A", "by today")


@pytest.mark.parametrize("weeks", range(13))
def test_a_dash_of_the_road_is_one_week(weeks: int) -> None:
    """After so many weeks a stone stands between the dash of the week before and that of the week after."""
    drawing = RoadAhead("Title", TODAY, (Item("MOT", TODAY + timedelta(weeks=weeks), "later"),)).draw(NARROW)
    [disc] = discs(drawing)
    [dashes] = strokes(drawing, "paint")
    assert len(dashes.lines) == 12
    assert sum(end[0] < disc.x for _, end in dashes.lines) == weeks
    assert sum(start[0] > disc.x for start, _ in dashes.lines) == 12 - weeks


def test_a_closed_road_has_the_stop_before_everything_that_stands_on_it() -> None:
    drawing = RoadAhead("Title", TODAY, (Item("MOT", TODAY, "overdue"),), is_closed=True).draw(NARROW)
    off, mot = sorted((mark for mark in drawing.marks if isinstance(mark, Silhouette)), key=lambda mark: mark.x)
    assert (off.shape.name, mot.shape.name) == ("off", "overdue")
    [stop] = [stroke for stroke in strokes(drawing, "paint") if stroke.width == 6]
    assert off.x + 13 < stop.lines[0][0][0] < mot.x - 13


@pytest.mark.parametrize("kind", DRAWINGS)
@pytest.mark.parametrize("scheme", SCHEMES)
def test_ids_are_used_once_and_all_begin_with_the_name(kind: str, scheme: str) -> None:
    written = svg(DRAWINGS[kind].draw(WIDE), "here", scheme)
    ids = re.findall(r' id="([^"]*)"', written)
    assert len(ids) == len(set(ids))
    assert all(one.startswith("here-") for one in ids)
    assert set(re.findall(r"url\(#([^)]*)\)", written)) <= set(ids)


def test_a_road_with_hundreds_of_things_is_labelled_with_little_work(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Counter[str]()

    def counted(one: road_labels.Label, other: road_labels.Label) -> bool:
        asked["clear"] += 1
        return are_clear(one, other)

    are_clear = road_labels._are_clear
    monkeypatch.setattr(road_labels, "_are_clear", counted)
    items = [Item(f"Service {index}", TODAY + timedelta(days=index % 84), "due") for index in range(400)]

    drawing = RoadAhead("The next twelve weeks", TODAY, tuple(items)).draw(NARROW)

    assert any(isinstance(mark, Words) and "Service 0" in mark.text for mark in drawing.marks)
    assert asked["clear"] < 60_000


@given(brims(), FRAMES)
def test_a_dot_lies_at_its_day_and_its_figure_and_the_mean_is_one_line(what: Brims, frame: Frame) -> None:
    drawing = what.draw(frame)
    dots = [mark for mark in drawing.marks if isinstance(mark, Disc)]
    assert len(dots) == len(what.brims)
    assert [dot.x for dot in dots] == sorted(dot.x for dot in dots)
    for one, other in zip(what.brims, dots, strict=True):
        for two, another in zip(what.brims, dots, strict=True):
            assert (one.figure < two.figure) <= (other.y >= another.y)
    [mean] = strokes(drawing, "ink")
    assert [x for x, _ in mean.lines[0]] == [dot.x for dot in dots]
    assert bool([mark for mark in drawing.marks if isinstance(mark, Area)]) is (what.usual is not None)
    named = {mark.text for mark in drawing.marks if isinstance(mark, Words)}
    assert ("usual band" in named) is (what.usual is not None)


@pytest.mark.parametrize(
    ("tenths", "filled", "words"),
    [(0, 0, "0.0"), (2, 1, "0.2"), (72, 8, "7.2"), (70, 7, "7.0"), (600, 60, "60.0"), (755, 60, "75.5")],
)
def test_a_dial_has_sixty_strokes_of_which_the_minutes_are_filled(tenths: int, filled: int, words: str) -> None:
    drawing = LessonHourDial("Title", tenths).draw(NARROW)
    own = [len(stroke.lines) for stroke in strokes(drawing, "accent") if stroke.width == 2.5]
    assert sum(own) == filled
    assert sum(len(stroke.lines) for stroke in strokes(drawing, "quiet")) == 60 - filled
    assert drawing.description == f"{words} of 60 minutes."


def test_figures_that_never_change_lie_in_the_middle() -> None:
    drawing = PricePaid("Title", (Paid(TODAY, 1_339), Paid(TODAY + timedelta(days=9), 1_339))).draw(NARROW)
    assert {disc.y for disc in discs(drawing)} == {75}
    assert drawing.description == "2 from November to December, from 133.9p to 133.9p, the last 133.9p."


@pytest.mark.parametrize("frame", [NARROW, WIDE])
def test_a_tone_that_the_last_month_does_not_have_is_named_beside_a_patch(frame: Frame) -> None:
    columns = (Column("May", "May", "M", {"tax": 400, "fuel": 100}), Column("June", "Jun", "J", {"fuel": 200}))
    drawing = MonthsStacked("Title", GROUPS, columns).draw(frame)
    words = {mark.text: mark for mark in drawing.marks if isinstance(mark, Words)}
    [patch] = [box for mark in drawing.marks if isinstance(mark, Bars) for box in mark.boxes if box.width == PATCH]
    assert abs(words["Tax, MOT"].y - 4.5 - patch.y - patch.height / 2) < 0.1
    assert patch.right < words["Tax, MOT"].box.x
    # Only the sums of the last month stand beside it, and no other tone is named.
    assert {"2.00", "Jun"} <= set(words)
    assert "4.00" not in words
    assert "Insurance" not in words
