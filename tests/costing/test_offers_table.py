"""The table of offers by letters, and what could go wrong: each cell of hand-made offers, however much is told."""

from fractions import Fraction
from typing import Any

import pytest

from costing.choosing.core.case import (
    Case,
    Chance,
    EarlyExit,
    Fuel,
    Offer,
    Running,
    Spread,
    Uncertain,
    WeeksOff,
    WhatIf,
)
from costing.choosing.pictures import what_if
from costing.choosing.pictures.cautions import cautions
from costing.choosing.pictures.facts import facts_of
from costing.choosing.pictures.page import Asked, shown
from costing.choosing.pictures.sources import running_sources
from costing.choosing.pictures.table import OfferColumn, TableRow, columns_of, groups_of, money_rows
from costing.choosing.report import OffersReport
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing import cases

ALL = frozenset(RUNNING_PARTS)
USE = cases.USE._replace(
    months=24, lesson_hours_per_week=Fraction(25), weeks_taught_per_year=Fraction(40), lesson_hour_price=40_00
)
LETTERS = "ABCDEFGH"


def bought(name: str, price: int, value: int | None = 0, *untold: str, **fields: Any) -> Offer:
    return Offer(name, "owned", price=price, value_at_horizon=value, includes=ALL - {*untold}, **fields)


def rented(name: str, payment: int, payments: int = 24, **fields: Any) -> Offer:
    return Offer(name, "contract_hire", payment=payment, payments=payments, **{"damage": 0, "includes": ALL} | fields)


def report_of(*offers: Offer, **use: Any) -> OffersReport:
    return OffersReport(Case(USE._replace(**use), cases.UNTOLD, offers))


def columns(report: OffersReport) -> list[OfferColumn]:
    return columns_of(report.figures, dict(zip((o.name for o in report.case.offers), LETTERS, strict=False)))


def row(report: OffersReport, label: str) -> list[tuple[str, str, str]]:
    """The cells of a row of the table: words, note, and why one stands out."""
    rows = [row for group in groups_of(report, columns(report)) for row in group.rows]
    return cells(next(row for row in rows if row.label == label))


def cells(row: TableRow) -> list[tuple[str, str, str]]:
    return [cell[:3] for cell in row.cells]


def test_the_totals_stand_with_what_each_is_above_the_cheapest() -> None:
    report = report_of(bought("One", 4_500_00), bought("Other", 3_800_00), bought("Third", 3_800_40))
    assert row(report, "24 months") == [
        ("4,500", "700 more", ""),
        ("3,800", "", "the cheapest"),
        ("3,800", "0 more", ""),
    ]


def test_a_total_says_what_it_leaves_out_and_how_much_room_that_has() -> None:
    report = report_of(bought("One", 3_000_00, 0, "repairs"), bought("Other", 5_400_00))
    assert row(report, "24 months") == [("3,000", "and repairs", ""), ("5,400", "room 2,400", "")]
    report = report_of(bought("One", 3_000_00, None, "repairs", "tyres"), bought("Other", 5_400_00, None))
    assert row(report, "24 months") == [("3,000", "and 2 more, less its value", ""), ("5,400", "less its value", "")]
    assert row(report, "Not told") == [("3 parts", "", ""), ("its value", "", "")]
    told = report_of(bought("One", 3_000_00, 0, "repairs"), bought("Other", 5_400_00))
    assert row(told, "Not told") == [("repairs", "", ""), ("none", "", "")]


def test_of_a_car_that_goes_back_unless_it_fetches_more_its_value_is_not_taken_off() -> None:
    pcp = {"price": 9_000_00, "payment": 250_00, "payments": 24, "final_payment": 4_000_00, "includes": ALL}
    report = report_of(Offer("PCP", "pcp", damage=0, **pcp), bought("Other", 9_400_00))
    assert row(report, "24 months")[0] == ("6,000", "or less, if sold", "the cheapest")
    report = report_of(Offer("PCP", "pcp", **pcp), bought("Other", 9_400_00))
    assert row(report, "24 months")[0] == ("6,000", "and damage, or less, if sold", "")


def test_a_bound_is_rounded_so_that_it_stays_true() -> None:
    report = report_of(bought("One", 4_000_60, 0, "repairs"), bought("Other", 4_400_40, None), bought("T", 9_000_00))
    assert [words for words, *_ in cells(what_if.leaving_row(24, report.figures))] == [
        "from 4,000",
        "up to 4,401",
        "9,000",
    ]
    purse = {"cash_in_hand": 1_000_00, "put_by_per_month": 0}
    report = report_of(bought("One", 1_000_60, 0, "repairs"), bought("Other", 1_000_40, None), **purse)
    assert [words for words, *_ in row(report, "Purse lowest")] == ["up to 0", "from −1"]


def test_a_lesson_hour_is_bounded_where_not_all_is_told() -> None:
    # 25 hours in 40 weeks of two years: 2,000 hours at £40.
    report = report_of(bought("One", 4_000_00), bought("Other", 4_400_00))
    assert row(report, "A lesson hour") == [("2.00", "", "the lowest"), ("2.20", "0.20 more", "")]
    assert row(report, "Minutes of each hour") == [("3", "", "the lowest"), ("3", "", "")]
    open_ = report_of(
        bought("One", 4_000_00, 0, "repairs"), bought("Other", 4_400_00, None), bought("T", 1_00, None, "tyres")
    )
    assert row(open_, "A lesson hour") == [("from 2.00", "", ""), ("up to 2.20", "", ""), ("not told", "", "")]
    idle = report_of(bought("One", 1), lesson_hours_per_week=Fraction(0))
    assert "A lesson hour" not in {row.label for group in groups_of(idle, columns(idle)) for row in group.rows}


def test_what_goes_in_first() -> None:
    report = report_of(bought("One", 4_000_00), rented("Rent", 100_00, deposit=300_00, includes=ALL - {"fit_out"}))
    assert row(report, "Before lesson one") == [("4,000", "", ""), ("from 300", "", "")]
    report = report_of(bought("One", 4_000_00), rented("Rent", 100_00, deposit=300_00))
    assert row(report, "Before lesson one") == [("4,000", "3,700 more", ""), ("300", "", "the lowest")]


def test_how_low_the_purse_falls_is_bounded_where_not_all_is_told() -> None:
    purse = {"cash_in_hand": 5_000_00, "put_by_per_month": 100_00}
    report = report_of(bought("One", 4_000_00), rented("Rent", 150_00), **purse)
    assert row(report, "Purse lowest") == [("1,000", "at the start", ""), ("3,800", "month 24", "the most")]
    report = report_of(
        bought("One", 4_000_00, 0, "repairs"), bought("O", 4_000_00, None), bought("T", 4_000_00, None, "mot"), **purse
    )
    assert row(report, "Purse lowest") == [
        ("up to 1,000", "at the start", ""),
        ("from 1,000", "", ""),
        ("not told", "", ""),
    ]


def test_what_it_leaves_one_with() -> None:
    credit = Offer(
        "Credit", "hire_purchase", price=9_000_00, deposit=1_000_00, payment=250_00, payments=48,
        value_at_horizon=4_000_00, includes=ALL, half_rule=False,
    )  # fmt: skip
    report = report_of(bought("One", 4_000_00, 2_000_00), rented("Rent", 100_00), credit, bought("Untold", 1_00, None))
    spread = Spread(Fraction(1_500_00), Fraction(2_000_00), Fraction(2_200_00))
    case = report.case._replace(uncertain=(Uncertain("value_at_horizon", (spread,), "One"),))
    own, rent, settled, untold = row(OffersReport(case), "A car worth")
    assert (own, rent, untold) == (("2,000", "1,500 to 2,200", ""), ("none", "", ""), ("not told", "", ""))
    assert settled[0] == "4,000"
    assert settled[1].endswith(" owed")


def test_leaving_says_how_and_what_it_has_cost_by_then() -> None:
    report = report_of(
        rented("Rent", 100_00, early_exit=EarlyExit("weeks", Fraction(0))),
        rented("Untold", 50_00),
        bought("Own", 4_000_00),
    )
    label, found, _ = what_if.leaving_row(6, report.leaving()[5])
    assert label == "Leave in month 6"
    assert [cell[:2] for cell in found] == [("600", "early exit"), ("from 300", "early exit"), ("1,851", "sold")]


def test_how_one_leaves_is_not_said_where_it_hangs_on_what_the_car_fetches() -> None:
    credit = {"price": 9_000_00, "payment": 400_00, "payments": 24, "includes": ALL, "damage": 0}
    report = report_of(Offer("Credit", "hire_purchase", **credit), bought("Own", 4_000_00, None))
    assert [cell[:2] for cell in what_if.leaving_row(6, report.leaving()[5]).cells] == [
        ("up to 4,800", ""),
        ("up to 4,000", "sold"),
    ]


def test_no_way_is_the_one_taken_where_that_hangs_on_what_the_car_fetches() -> None:
    credit = {"price": 9_000_00, "payment": 400_00, "payments": 36, "includes": ALL, "damage": 0}
    report = report_of(Offer("Credit", "hire_purchase", **credit), bought("Own", 4_000_00, None))
    rows = {row.label: cells(row) for row in what_if.ways_out_rows(report.leaving()[5])}
    # Half of 36 x 400, less 6 x 400.
    assert rows["End it by the half rule"][0] == ("4,800", "", "")
    assert rows["Settle, then sell"][0] == ("no figure", "", "")
    assert rows["Sell it"][1] == ("not told", "", "the way taken")


def test_the_ways_out_stand_side_by_side() -> None:
    pcp = Offer(
        "PCP", "pcp", price=9_000_00, deposit=1_000_00, payment=150_00, payments=36, final_payment=4_000_00,
        value_at_horizon=4_000_00, includes=ALL, damage=100_00, mileage_allowance=Fraction(9_000),
        excess_pence_per_mile=Fraction(10),
    )  # fmt: skip
    report = report_of(pcp, rented("Rent", 100_00))
    then = report.leaving()[5]
    rows = {row.label: cells(row) for row in what_if.ways_out_rows(then)}
    assert set(rows) == {"Settle, then sell", "End it by the half rule", "End the hire early"}
    # Half of 1,000 + 36 x 150 + 4,000 less 1,000 and 6 x 150, and damage; 12,000 miles a year too many, half a year.
    assert rows["End it by the half rule"] == [("4,000", "600 of it disputed", ""), ("–", "", "")]
    assert rows["End the hire early"] == [("–", "", ""), ("not told", "", "the way taken")]
    assert rows["Settle, then sell"][0][2] == "the way taken"
    assert what_if.reasons(columns(report), then) == [
        ("B", "End the hire early: nobody has told what leaving before the term ends costs")
    ]


def test_weeks_ill_run_on_or_pause_and_the_takings_lost_stand_beside() -> None:
    report = report_of(
        rented("Runs", 100_00), rented("Pauses", 100_00, pauses_when_off=True), bought("Own", 4_000_00),
        cash_in_hand=9_000_00, put_by_per_month=0,
    )  # fmt: skip
    ill = what_if.illness_of(report, WeeksOff(20, 13))
    rows = {row.label: cells(row) for row in what_if.illness_rows(report.case.use, columns(report), ill)}
    assert rows["13 weeks ill"] == [("runs on", "", ""), ("pauses", "", "the best"), ("no payments", "", "")]
    assert rows["Its cost then"] == [("as planned", "", ""), ("300 less", "", ""), ("as planned", "", "")]
    assert rows["Takings lost"] == [("13,000", "", "")] * 3
    assert [words for words, *_ in rows["Purse lowest"]] == ["6,600", "6,700", "5,000"]
    [note] = [row.note for row in what_if.illness_rows(report.case.use, columns(report), ill) if "Purse" in row.label]
    assert note == "before the takings lost"
    assert what_if.illness_of(report, WeeksOff(1, 1)).name == "One week ill"


def test_what_an_illness_saves_is_not_said_further_than_it_is_told() -> None:
    terms = {"includes": ALL - {"fuel"}}
    report = report_of(rented("Rent", 100_00, **terms), rented("Pauses", 100_00, pauses_when_off=True, **terms))
    ill = what_if.illness_of(report, WeeksOff(20, 13))
    rows = {row.label: cells(row) for row in what_if.illness_rows(report.case.use, columns(report), ill)}
    assert rows["Its cost then"] == [("as planned", "but less for fuel", ""), ("300 less", "and less for fuel", "")]
    # Whether its extra miles are charged hangs on what the car fetches.
    pcp = Offer(
        "PCP", "pcp", price=9_000_00, payment=250_00, payments=24, final_payment=4_000_00, includes=ALL, damage=0,
        mileage_allowance=Fraction(9_000), excess_pence_per_mile=Fraction(10),
    )  # fmt: skip
    report = report_of(pcp, rented("Rent", 100_00))
    ill = what_if.illness_of(report, WeeksOff(20, 13))
    rows = {row.label: cells(row) for row in what_if.illness_rows(report.case.use, columns(report), ill)}
    assert rows["Its cost then"] == [("not told", "", ""), ("as planned", "", "")]


def test_the_usual_month_and_weeks_lie_within_a_short_plan() -> None:
    for months, month, weeks in ((36, 6, WeeksOff(20, 6)), (4, 4, WeeksOff(1, 6)), (1, 1, WeeksOff(1, 4))):
        use = USE._replace(months=months)
        assert (what_if.usual_month(use), what_if.usual_weeks(use)) == (month, weeks)


CHANCES = {"leaving": (Chance(6, Fraction(1, 4)), Chance(12, Fraction(1, 10)))}


def test_the_ways_it_may_go_with_what_each_comes_to_on_average_and_the_dearest() -> None:
    rent = rented("Rent", 100_00, early_exit=EarlyExit("weeks", Fraction(0)))
    report = report_of(rent, bought("Own", 2_000_00, 0), **CHANCES)
    ways = what_if.paths(report)
    assert [(what_if.in_100(one.chance), one.words) for one in ways] == [
        ("25 in 100", "Leave in month 6"),
        ("10 in 100", "Leave in month 12"),
        ("65 in 100", "Stay to month 24"),
    ]
    assert what_if.chance_tree(ways).title == "The likeliest way, 65 in 100: you stay to month 24"
    assert [cells(row)[0] for row in what_if.path_rows(columns(report), ways)] == [
        ("600", "", "the lowest"),
        ("1,200", "", "the lowest"),
        ("2,400", "400 more", ""),
    ]
    average, dearest = what_if.expected_rows(columns(report), ways)
    # 600 / 4 + 1,200 / 10 + 2,400 x 0.65
    assert cells(average)[0] == ("1,830", "", "")
    assert cells(dearest) == [
        ("2,400", "month 24, also the longest use", ""),
        ("2,000", "month 24, also the longest use", ""),
    ]
    assert what_if.expected_words(what_if.averages(ways), {"Rent": "A", "Own": "B"}).startswith(
        "By the chances of leaving, B costs"
    )


def test_the_dearest_way_need_not_be_the_longest_use() -> None:
    rent = rented("Rent", 100_00, early_exit=EarlyExit("share_of_remaining", Fraction(1)), fees=0)
    sold = bought("Own", 9_000_00, 8_000_00, value_now=2_000_00)
    report = report_of(rent, sold, **CHANCES)
    _, dearest = what_if.expected_rows(columns(report), what_if.paths(report))
    assert dearest.label == "The dearest way"
    assert [note for _, note, _ in cells(dearest)] == ["month 24, also the longest use", "month 6"]


INSTEAD = "ask what you could do instead."


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"payments": 36}, f"A second one on the same terms, left in month 42: {INSTEAD}"),
        ({"payments": 21}, f"A second one on the same terms, ending in month 42: {INSTEAD}"),
        ({"payments": 12}, f"One after another on the same terms, the last left in month 42: {INSTEAD}"),
        ({"payments": 14}, f"One after another on the same terms, the last ending in month 42: {INSTEAD}"),
        ({"payments": 104, "frequency": "week"}, f"A second one on the same terms, left in month 42: {INSTEAD}"),
        ({"payments": 36, "then": "rolls"}, "Its going on at the same payment until you leave in month 42: ask"),
        ({"payments": 1, "then": "rolls"}, ""),
        ({"payments": 42}, ""),
        ({"payments": 48}, ""),
    ],
    ids=["left", "to its end", "many", "many to the end", "weekly", "rolls", "no term", "exactly", "longer"],
)
def test_what_is_counted_past_a_term_of_hire_is_a_caution(terms: dict[str, Any], words: str) -> None:
    report = report_of(rented("Rent", 100_00, **terms), bought("Own", 1), months=42)
    said = cautions(report.case, report.leaving(), {"Rent": "A", "Own": "B"}).sentences
    found = [one for one in said if "the term ends" in one]
    assert bool(found) is bool(words)
    if words:
        ends = 24 if "frequency" in terms else terms["payments"]
        counted = f"{words[:1].lower()}{words[1:]}"
        on = "on " if "then" in terms else ""
        assert found[0].startswith(f"A: the term ends in month {ends}. We count {on}{counted}")


def test_hires_of_one_term_are_cautioned_of_together() -> None:
    report = report_of(rented("Rent", 100_00, 36), rented("Other", 200_00, 36), months=42)
    said = cautions(report.case, report.leaving(), {"Rent": "A", "Other": "B"}).sentences
    assert [one.partition(".")[0] for one in said if "the term ends" in one] == ["A and B: the term ends in month 36"]


def test_a_licence_that_ends_before_the_test_costs_takings_while_payments_run_on() -> None:
    rent = rented("Rent", 100_00, early_exit=EarlyExit("weeks", Fraction(0)))
    report = report_of(rent, **CHANCES)
    rows = what_if.path_rows(columns(report), what_if.paths(report, licence_ends=9))
    # Months 10 to 12: 13 weeks, of which 10 are taught, at 25 hours of £40.
    assert [row.note for row in rows] == ["25 in 100", "10 in 100; takings lost beside: 10,000", "65 in 100"]
    assert [cells(row)[0][0] for row in rows] == ["600", "1,200", "2,400"]


def test_no_more_is_lost_after_a_licence_than_is_ever_taken_and_no_payment_pauses() -> None:
    rent = rented("Rent", 100_00, early_exit=EarlyExit("weeks", Fraction(0)), pauses_when_off=True)
    report = report_of(rent, **CHANCES)
    rows = what_if.path_rows(columns(report), what_if.paths(report, licence_ends=1))
    # Of 20 and 40 taught weeks in 6 and 12 months, a month's 3 1/3 are taught before.
    assert [row.note.rpartition(" ")[2] for row in rows] == ["17,000", "37,000", "100"]
    assert [cells(row)[0][0] for row in rows] == ["600", "1,200", "2,400"]


def test_the_average_is_that_of_the_ways_shown_also_after_a_licence_has_ended() -> None:
    use = USE._replace(miles_per_year=Fraction(12_000), private_miles_per_year=Fraction(0), **CHANCES)
    terms = {"early_exit": EarlyExit("weeks", Fraction(0)), "includes": ALL - {"fuel"}}
    offers = (rented("Rent", 100_00, **terms), rented("Dearer", 101_00, **terms))
    report = OffersReport(Case(use, cases.UNTOLD._replace(fuel=(Fuel(Fraction(10)),)), offers))
    ways = what_if.paths(report, licence_ends=3)
    # Fuel is 100 a month. Half of the first 6 months' weeks are taught, and a quarter of the year's.
    assert [cells(row)[0][0] for row in what_if.path_rows(columns(report), ways)] == ["900", "1,500", "4,800"]
    average, _ = what_if.expected_rows(columns(report), ways)
    # 900 / 4 + 1,500 / 10 + 4,800 x 0.65
    assert cells(average)[0][0] == "3,495"
    found = what_if.expected_words(what_if.averages(ways), {"Rent": "A", "Dearer": "B"})
    assert found == "By the chances of leaving, A costs the least on average: £3,495."


def test_without_chances_there_are_no_ways_and_without_all_told_no_average() -> None:
    assert what_if.paths(report_of(bought("One", 1))) == []
    report = report_of(bought("One", 1, 0, "repairs"), bought("Other", 2), **CHANCES)
    average, dearest = what_if.expected_rows(columns(report), what_if.paths(report))
    assert [words for words, *_ in cells(average)] == ["not told", "0"]
    assert cells(dearest)[0] == ("not told", "", "")
    assert "not all is told" in what_if.expected_words(what_if.averages(what_if.paths(report)), {})
    same = report_of(bought("One", 1), bought("Other", 1), **CHANCES)
    assert "no offer costs less on average" in what_if.expected_words(what_if.averages(what_if.paths(same)), {})


def test_ones_own_events_stand_beside_the_plan() -> None:
    report = report_of(bought("One", 4_000_00, 0, "repairs"), bought("Other", 4_000_00))
    events = (WhatIf("Ill", off=WeeksOff(1, 2)), WhatIf("A big repair", one_repair=900_00))
    ill, repair = what_if.event_rows(OffersReport(report.case._replace(what_ifs=events)), columns(report))
    assert ill.note == "takings lost beside: £2,000"
    assert (repair.note, cells(repair)[0]) == ("", ("from 4,900", "", ""))


def test_where_the_money_goes_says_what_is_not_told() -> None:
    report = report_of(bought("One", 4_000_00, 0, "repairs"), rented("Rent", 100_00))
    rows = {row.label: cells(row) for row in money_rows(columns(report))}
    assert rows["Price"] == [("4,000", "", ""), ("0", "", "")]
    assert rows["Together"] == [("4,000", "and repairs", ""), ("2,400", "", "")]


def asked(**how: Any) -> Asked:
    return Asked(6, WeeksOff(20, 6), **how)


def letters(report: OffersReport, **how: Any) -> tuple[list[str], str]:
    found = shown(report.case.use, columns(report), asked(**how))
    return found.letters, found.left_out


def test_of_more_than_four_offers_three_stand_in_the_table_until_somebody_chooses() -> None:
    four = report_of(*(bought(f"At {price}", price) for price in (500, 400, 300, 200)))
    assert letters(four) == (["A", "B", "C", "D"], "")
    five = report_of(*(bought(f"At {price}", price) for price in (500, 100, 400, 300, 200)))
    assert letters(five) == (["B", "D", "E"], "")
    assert letters(five, letters=("E", "A")) == (["A", "E"], "")
    assert letters(five, letters=tuple("ABCDE")) == (["A", "B", "C", "D"], "")
    assert letters(five, letters=("Z",)) == (["B", "D", "E"], "")


def test_offers_are_ordered_and_left_out_by_the_purse_and_keep_their_letters() -> None:
    offers = bought("Dear", 4_000_00), rented("Rent", 100_00), bought("Untold", 1_00, 0, "repairs")
    report = report_of(*offers, cash_in_hand=3_000_00, put_by_per_month=0)
    assert letters(report, is_by_purse=True) == (["B", "A", "C"], "")
    assert letters(report, is_affordable=True) == (["B", "C"], "A")
    # What is told is too dear already; what its car fetches may still bring the other back.
    dear = bought("Too dear", 4_000_00, 0, "repairs"), bought("It depends", 4_000_00, None)
    report = report_of(*dear, cash_in_hand=3_000_00, put_by_per_month=10_00)
    assert letters(report, is_affordable=True) == (["B"], "A")


def test_an_offer_tells_its_terms_and_what_they_come_to() -> None:
    rent = rented(
        "Rent", 100_50, early_exit=EarlyExit("share_of_remaining", Fraction(1, 2)), then="rolls",
        mileage_allowance=Fraction(9_000), excess_pence_per_mile=None,
    )  # fmt: skip
    report = report_of(rent, discount_rate=Fraction(4, 100))
    found = {fact.label: (fact.words, fact.note) for fact in facts_of(report, report.figures[0])}
    assert found["Terms"] == ("24 payments of £100.50 a month", "")
    assert found["Leaving inside the term"] == ("50% of the payments left", "")
    assert found["Past the term"] == ("It goes on at its payment", "")
    assert found["Miles allowed"] == (
        "9,000 a year",
        "You plan 12,000 a year more, at a rate that isn’t told.",
    )
    assert found["Not told"] == ("charge for extra miles", "")
    assert "A week" not in found
    own = report_of(bought("Own", 2_400_00, 0), discount_rate=Fraction(4, 100))
    found = {fact.label: (fact.words, fact.note) for fact in facts_of(own, own.figures[0])}
    assert found["A week"] == ("£23.08", "")
    assert found["Dearest month"] == ("£2,400", "the start")
    assert found["In today’s money, at 4% a year"] == ("£2,400", "")
    assert found["After tax"][0] == "£1,838"
    # What it has cost on leaving early rests on that.
    assert found["We assume"] == ("that the day after you buy it the car would fetch its price", "")


def test_running_costs_stand_with_where_they_came_from() -> None:
    running = Running(
        fuel=(
            Fuel(Fraction(140), "litre", Fraction(50), Fraction(1, 4)),
            Fuel(Fraction(30), "kwh", Fraction(4), Fraction(3, 4)),
        ),
        insurance=(900_00, 800_50),
        insurance_given_back=Fraction(1, 2),
        tyre_set=320_00,
        tyre_set_miles=Fraction(25_000),
        repairs_per_year=400_00,
    )
    found = {
        one.label: (one.amount, one.origin)
        for one in running_sources(running, {"repairs_per_year": "your records"}, "GB")
    }
    assert found == {
        "fuel": (
            "12.7p a mile on 25% of the miles (50 mpg at 140p a litre), "
            "and 7.5p a mile on 75% of the miles (4 miles a kWh at 30p a kWh)",
            "typed in",
        ),
        "insurance": ("£900, then £800.50; 50% of the months left comes back", "typed in"),
        "tyres": ("£320 a set, for 25,000 miles", "typed in"),
        "repairs": ("£400 a year", "your records"),
    }


def test_only_the_cautions_that_apply_are_said() -> None:
    def said(*offers: Offer) -> str:
        report = report_of(*offers, marginal_tax_rate=Fraction(0))
        known = dict(zip((offer.name for offer in offers), LETTERS, strict=False))
        return " ".join([*(found := cautions(report.case, report.leaving(), known)).sentences, *found.sources])

    own = said(bought("Own", 1))
    assert "get the terms in writing" in own
    assert not any(words in own for words in ("half", "settle", "contract", "Consumer Credit", "tax"))
    hire = said(bought("Own", 1), rented("Rent", 100_00))
    assert "B: the contract says what leaving early costs" in hire
    assert "Consumer Credit" not in hire
    credit = {"price": 30_000_00, "payment": 600_00, "payments": 48, "value_at_horizon": 9_000_00, "includes": ALL}
    within = said(Offer("Credit", "hire_purchase", deposit=5_000_00, **credit))
    assert "A: you may end it in writing" in within
    assert "the lender may add up to a month" in within
    beyond = said(Offer("Credit", "hire_purchase", deposit=4_999_99, **credit))
    assert "you may end it in writing" not in beyond
    assert "A: what settling early costs is in the contract." in beyond
    told = said(Offer("Credit", "hire_purchase", deposit=4_999_99, half_rule=True, **credit))
    assert "A: you may end it in writing" in told
