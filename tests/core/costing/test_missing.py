"""What is missing is said, with the day it hangs on, and only for days in service."""

from datetime import date
from decimal import Decimal

import pytest

from costing.core.missing import (
    Missing,
    OfRecord,
    Reason,
    has_to_come,
    is_to_come,
    leaves_out_cost,
    missing_economy,
    missing_use,
    of_lesson_hour,
    of_lessons,
)
from costing.core.records import (
    Agreement,
    CarBook,
    Cost,
    Fill,
    Period,
    Reading,
    Service,
    Teaching,
    Unit,
    Valuation,
)
from costing.core.running_cost import running_cost

FIRST, LAST = date(2027, 3, 1), date(2027, 3, 31)
MARCH = Period(FIRST, LAST)


def fill(day: date, miles: int, unit: Unit = "litre", *, brimmed: bool = True) -> Fill:
    return Fill(day, miles, 40_000, unit, 5_400, brimmed, gap_before=False)


#: Nothing is missing in March.
COMPLETE = CarBook(
    service=Service(date(2027, 2, 1), None),
    readings=(Reading(date(2027, 2, 1), 9_000), Reading(LAST, 12_000)),
    fills=(fill(date(2027, 2, 20), 10_000), fill(LAST, 12_000)),
    teaching=(Teaching(FIRST, LAST, 60, 5_400, 200),),
    agreements=(Agreement(date(2027, 2, 1), "owned", 900_000),),
)


def missing(book: CarBook, period: Period = MARCH) -> tuple[Missing, ...]:
    return running_cost(book, period, depreciation_rate=Decimal("0.15")).missing


def test_nothing_is_missing_from_a_complete_book() -> None:
    assert missing(COMPLETE) == ()


def test_a_car_out_of_service_is_the_one_reason() -> None:
    gone = COMPLETE._replace(service=Service(date(2027, 2, 1), date(2027, 2, 28)))

    assert missing(gone._replace(teaching=())) == ((Reason.NOT_IN_SERVICE, None),)
    assert missing(CarBook(Service(date(2027, 4, 1), None))) == ((Reason.NOT_IN_SERVICE, None),)


def test_a_car_without_readings() -> None:
    unread = COMPLETE._replace(readings=(), fills=())

    assert missing(unread) == ((Reason.NO_READINGS, None), (Reason.NO_FILLS, None))


def test_days_outside_the_readings_name_the_nearest_reading() -> None:
    late, early = Reading(date(2027, 3, 3), 10_100), Reading(date(2027, 3, 28), 11_900)
    patchy = COMPLETE._replace(readings=(late, early), fills=(fill(date(2027, 3, 5), 10_300),))

    assert missing(patchy)[:2] == (
        (Reason.NO_READING_BEFORE, date(2027, 3, 3)),
        (Reason.NO_READING_AFTER, date(2027, 3, 28)),
    )


def test_the_reading_of_the_evening_before_is_needed_too() -> None:
    book = COMPLETE._replace(fills=COMPLETE.fills[1:])

    assert (Reason.NO_READING_BEFORE, FIRST) in missing(
        book._replace(readings=(Reading(FIRST, 10_000), Reading(LAST, 12_000)))
    )
    evening_before = (Reading(date(2027, 2, 28), 10_000), Reading(LAST, 12_000))
    assert Reason.NO_READING_BEFORE not in {m.reason for m in missing(book._replace(readings=evening_before))}


def test_no_reading_is_owed_from_before_or_after_the_service() -> None:
    service = Service(date(2027, 3, 5), date(2027, 3, 25))
    readings = (Reading(service.first, 9_000), Reading(date(2027, 3, 25), 12_000))
    fills = (fill(service.first, 9_000), fill(date(2027, 3, 25), 12_000))

    assert missing(COMPLETE._replace(service=service, readings=readings, fills=fills)) == ()


def test_lessons_outside_the_service_are_named() -> None:
    gone = COMPLETE._replace(service=Service(date(2027, 2, 1), date(2027, 2, 28)))
    named = (Reason.LESSONS_OUT_OF_SERVICE, FIRST)

    assert missing(gone) == ((Reason.NOT_IN_SERVICE, None), named)
    # Lessons that are not told are named too, but not a record that nothing was taught.
    [record] = COMPLETE.teaching
    assert named in missing(gone._replace(teaching=(record._replace(lessons=None, minutes=0),)))
    assert named in missing(gone._replace(teaching=(record._replace(lessons=0, minutes=None),)))
    assert named not in missing(gone._replace(teaching=(record._replace(lessons=0, minutes=0),)))
    assert named not in missing(gone, Period(date(2027, 4, 1), date(2027, 4, 30)))


@pytest.mark.parametrize(
    ("untold", "reason", "known"),
    [
        ("lessons", Reason.LESSONS_UNTOLD, (True, True, False)),
        ("minutes", Reason.HOURS_UNTOLD, (True, False, True)),
        ("private_miles", Reason.PRIVATE_MILES_UNTOLD, (True, False, False)),
    ],
)
def test_what_a_teaching_record_leaves_empty_is_unknown(
    untold: str, reason: Reason, known: tuple[bool, bool, bool]
) -> None:
    [record] = COMPLETE.teaching
    cost = running_cost(
        COMPLETE._replace(teaching=(record._replace(**{untold: None}),)), MARCH, depreciation_rate=Decimal(0)
    )

    assert cost.missing == ((reason, FIRST),)
    figures = (cost.cost_per_mile, cost.cost_per_lesson_hour, cost.cost_per_lesson)
    assert tuple(figure is not None for figure in figures) == known


TYRES = Cost(date(2027, 2, 10), "tyres", 32_000, covers_miles=25_000)


@pytest.mark.parametrize(
    ("cost", "waits"),
    [
        (TYRES, True),
        (TYRES._replace(paid_on=date(2027, 3, 30)), True),
        (TYRES._replace(paid_on=LAST), False),
        (TYRES._replace(ended_on=FIRST), True),
        (TYRES._replace(ended_on=date(2027, 2, 28)), False),
        (TYRES._replace(covers_miles=None), False),
        (TYRES._replace(category="finance"), False),
    ],
)
def test_cover_by_miles_without_readings_is_told_while_it_runs(cost: Cost, waits: bool) -> None:
    unread = COMPLETE._replace(readings=(), fills=(), costs=(cost,))

    assert ((Reason.COVER_WITHOUT_READINGS, None) in missing(unread)) is waits


def test_a_fill_bounds_its_neighbours_even_if_its_money_is_not_counted() -> None:
    unpaid = COMPLETE._replace(fills=tuple(f._replace(pence=0) for f in COMPLETE.fills))

    assert missing(unpaid) == ()


def test_neither_agreement_nor_valuation() -> None:
    assert missing(COMPLETE._replace(agreements=())) == ((Reason.NO_AGREEMENT, None),)
    valued = COMPLETE._replace(agreements=(), valuations=(Valuation(date(2027, 2, 1), 900_000),))
    assert missing(valued) == ()


@pytest.mark.parametrize(
    ("starts_on", "lacks"), [(date(2027, 2, 8), False), (date(2027, 2, 9), True), (date(2027, 2, 26), True)]
)
def test_days_before_the_first_hire_were_not_free(starts_on: date, lacks: bool) -> None:
    """The car is in service from 1 February; what begins within a week of that reaches to it."""
    hired = COMPLETE._replace(
        agreements=(Agreement(starts_on, "contract_hire", payment=20_000, payments=12),),
        readings=(Reading(date(2027, 2, 1), 9_000), Reading(LAST, 12_000)),
        teaching=(Teaching(date(2027, 2, 1), LAST, 60, 5_400, 200),),
        fills=(fill(date(2027, 2, 1), 9_000), fill(LAST, 12_000)),
    )
    february = running_cost(hired, Period(date(2027, 2, 1), date(2027, 2, 28)), depreciation_rate=Decimal("0.15"))

    assert (Missing(Reason.NO_AGREEMENT_BEFORE, starts_on) in february.missing) is lacks
    assert (february.cost_per_mile is None) is lacks
    assert missing(hired) == ()


def test_an_agreement_that_begins_after_the_cars_last_day_tells_nothing_of_it() -> None:
    ended = COMPLETE._replace(service=Service(date(2027, 2, 1), LAST))
    late = ended._replace(agreements=tuple(a._replace(starts_on=date(2027, 4, 1)) for a in ended.agreements))

    assert missing(ended) == ()
    assert missing(late) == ((Reason.NO_AGREEMENT, None),)


def test_an_owned_car_without_price_or_valuation() -> None:
    unpriced = COMPLETE._replace(agreements=(Agreement(date(2027, 2, 1), "owned"),))

    assert missing(unpriced) == ((Reason.NO_VALUE, None),)


@pytest.mark.parametrize(
    ("valued_on", "expected"),
    [
        (date(2027, 3, 1), ()),
        (date(2027, 3, 2), ((Reason.NO_VALUE_BEFORE, date(2027, 3, 2)),)),
        (date(2027, 6, 1), ((Reason.NO_VALUE_BEFORE, date(2027, 6, 1)),)),
    ],
)
def test_days_before_the_first_value(valued_on: date, expected: tuple[Missing, ...]) -> None:
    unpriced = COMPLETE._replace(
        agreements=(Agreement(date(2027, 2, 1), "owned"),), valuations=(Valuation(valued_on, 900_000),)
    )

    assert missing(unpriced) == expected


def test_a_hired_car_owes_no_value_until_it_is_bought() -> None:
    hire = Agreement(date(2027, 2, 1), "contract_hire", payment=31_000, payments=2)

    assert missing(COMPLETE._replace(agreements=(hire,))) == ()
    assert missing(COMPLETE._replace(agreements=(hire, Agreement(date(2027, 4, 1), "owned")))) == ()
    bought = Agreement(date(2027, 3, 31), "owned")
    assert missing(COMPLETE._replace(agreements=(hire, bought))) == ((Reason.NO_VALUE, None),)


@pytest.mark.parametrize(
    ("agreement", "reason"),
    [
        (Agreement(date(2027, 2, 1), "pcp", None, payment=18_900, payments=36), Reason.NO_FINANCE_TERMS),
        (Agreement(date(2027, 2, 1), "hire_purchase", 900_000, payment=18_900), Reason.NO_FINANCE_TERMS),
        (Agreement(date(2027, 2, 1), "weekly_rental", payment=12_900), Reason.NO_HIRE_TERMS),
    ],
)
def test_agreements_without_terms(agreement: Agreement, reason: Reason) -> None:
    valued = COMPLETE._replace(agreements=(agreement,), valuations=(Valuation(date(2027, 2, 1), 900_000),))

    assert missing(valued) == ((reason, date(2027, 2, 1)),)


def test_terms_are_only_missed_while_the_agreement_runs() -> None:
    # Two months from 1 January end on 28 February; an agreement from April has not begun.
    over = Agreement(date(2027, 1, 1), "pcp", None, payment=18_900, payments=2)
    to_come = Agreement(date(2027, 4, 1), "weekly_rental", payment=12_900)
    valued = COMPLETE._replace(agreements=(over, to_come), valuations=(Valuation(date(2027, 2, 1), 900_000),))

    assert missing(valued) == ()


def test_terms_are_missed_to_the_last_day_of_the_last_payment() -> None:
    # Three months from 2 December end on 1 March.
    running = Agreement(date(2026, 12, 2), "pcp", None, payment=18_900, payments=3)
    valued = COMPLETE._replace(agreements=(running,), valuations=(Valuation(date(2027, 2, 1), 900_000),))

    assert missing(valued) == ((Reason.NO_FINANCE_TERMS, date(2026, 12, 2)),)
    assert missing(valued._replace(agreements=(running._replace(starts_on=date(2026, 12, 1)),))) == ()


def test_a_car_that_stood_still() -> None:
    still = COMPLETE._replace(readings=(Reading(date(2027, 2, 1), 11_500), Reading(LAST, 11_500)))
    still = still._replace(fills=(fill(date(2027, 2, 20), 11_500), fill(LAST, 11_500)))

    assert missing(still) == ((Reason.NO_MILES, None), (Reason.NO_FULL_LITRES, None))


def test_more_private_miles_than_miles() -> None:
    private = COMPLETE._replace(teaching=(Teaching(FIRST, LAST, 60, 5_400, 9_999),))

    assert missing(private) == ((Reason.PRIVATE_ABOVE_MILES, None),)


@pytest.mark.parametrize(
    ("lessons", "minutes", "expected"),
    [
        (0, 0, [(Reason.NO_LESSONS_THEN, None)]),
        (0, 60, [(Reason.NO_LESSONS, None)]),
        (1, 0, [(Reason.NO_LESSON_HOURS, None)]),
        (1, 60, []),
    ],
)
def test_teaching_that_is_missing(lessons: int, minutes: int, expected: list[Missing]) -> None:
    assert list(missing_use(100, 0, lessons, minutes)) == expected


def test_the_least_use_is_use() -> None:
    assert list(missing_use(1, 0, 1, 1)) == []
    assert list(missing_use(100, 100, 1, 60)) == []  # all of it private: the business share is nothing, but known
    assert list(missing_use(None, 0, None, None)) == list(missing_use(100, None, 1, 60)) == []
    assert list(missing_use(100, 0, 0, 1)) == [(Reason.NO_LESSONS, None)]


def test_economy_needs_two_brims_of_each_unit_the_car_takes() -> None:
    once = (fill(date(2027, 2, 20), 10_000), fill(LAST, 12_000, brimmed=False))
    assert missing(COMPLETE._replace(fills=once)) == ((Reason.NO_FULL_LITRES, None),)
    plug_in = (*COMPLETE.fills, fill(date(2027, 3, 10), 10_900, "kwh", brimmed=False))
    assert missing(COMPLETE._replace(fills=plug_in)) == ((Reason.NO_FULL_KWH, None),)
    assert list(missing_economy(["kwh", "litre"], [])) == [
        (Reason.NO_FULL_LITRES, None),
        (Reason.NO_FULL_KWH, None),
    ]


def test_only_some_reasons_take_the_lesson_hour_away() -> None:
    taking = [Reason.NO_READING_AFTER, Reason.NO_FILLS, Reason.NO_LESSON_HOURS, Reason.HOURS_UNTOLD, Reason.NO_VALUE]
    others = [Reason.NO_FULL_LITRES, Reason.NO_FULL_KWH, Reason.NO_LESSONS, Reason.LESSONS_UNTOLD]
    found = [Missing(reason) for reason in (*taking, *others, Reason.DAYS_WITHOUT_LESSONS)]
    assert [one.reason for one in of_lesson_hour(found)] == taking


def test_that_readings_show_no_miles_says_nothing_where_they_do_not_reach() -> None:
    once = COMPLETE._replace(readings=(Reading(date(2027, 3, 5), 11_500),), fills=())
    report = running_cost(once, MARCH, depreciation_rate=Decimal(0))
    unread = [(Reason.NO_READING_BEFORE, date(2027, 3, 5)), (Reason.NO_READING_AFTER, date(2027, 3, 5))]

    assert (report.miles, report.miles_shown) == (0, None)
    assert missing(once) == (*unread, (Reason.NO_FILLS, None))
    assert missing(once._replace(teaching=(Teaching(FIRST, LAST, 60, 5_400, 9_999),))) == missing(once)


def test_miles_of_which_readings_tell_a_part_are_shown_and_so_is_that_a_car_stood_still() -> None:
    still = COMPLETE._replace(
        readings=(Reading(date(2027, 2, 1), 11_500), Reading(LAST, 11_500)),
        fills=(fill(date(2027, 2, 20), 11_500), fill(LAST, 11_500)),
    )
    partly = COMPLETE._replace(
        readings=(Reading(date(2027, 3, 5), 11_500), Reading(date(2027, 3, 9), 11_600)), fills=()
    )
    for book, miles in ((still, 0), (partly, 100)):
        report = running_cost(book, MARCH, depreciation_rate=Decimal(0))
        assert (report.miles, report.miles_shown) == (miles, miles)


def test_that_records_of_lessons_come_to_nothing_says_nothing_where_they_do_not_reach() -> None:
    def told(book: CarBook) -> tuple[int | None, bool]:
        report = running_cost(book, MARCH, depreciation_rate=Decimal(0))
        return report.minutes, report.tells_lessons

    none_taught = Teaching(FIRST, LAST, 0, 0, 0)
    early = Teaching(date(2027, 1, 1), date(2027, 1, 31), 60, 5_400, 0)
    assert told(COMPLETE._replace(teaching=())) == (0, False)
    assert told(COMPLETE._replace(teaching=(early,))) == (0, False)
    assert told(COMPLETE._replace(teaching=(none_taught,))) == (0, True)
    assert told(COMPLETE) == (COMPLETE.teaching[0].minutes, True)


def test_what_lies_in_one_record_names_it() -> None:
    half, rest = Teaching(FIRST, date(2027, 3, 14), 30, 2_700, None), Teaching(date(2027, 3, 15), LAST, None, 2_700, 0)
    book = COMPLETE._replace(teaching=(half._replace(key=7), rest._replace(key=8)))
    cost = running_cost(book, MARCH, depreciation_rate=Decimal(0))
    private, lessons = Missing(Reason.PRIVATE_MILES_UNTOLD, FIRST), Missing(Reason.LESSONS_UNTOLD, date(2027, 3, 15))

    assert cost.missing == (private, lessons)
    assert cost.of_records == (OfRecord(private, 7), OfRecord(lessons, 8))


@pytest.mark.parametrize(
    ("reasons", "waits", "waits_alone"),
    [
        ((), False, True),
        ((Reason.NO_READING_AFTER, Reason.NO_FILL_AFTER, Reason.NO_LESSONS_AFTER), True, True),
        ((Reason.NO_FILL_AFTER, Reason.NO_FULL_LITRES, Reason.NO_FULL_KWH), True, True),
        ((Reason.NO_FULL_KWH,), False, True),
        ((Reason.NO_LESSONS_AFTER, Reason.PRIVATE_MILES_UNTOLD), True, False),
        ((Reason.NO_HIRE_TERMS,), False, False),
    ],
)
def test_what_comes_in_as_days_go_by(reasons: tuple[Reason, ...], waits: bool, waits_alone: bool) -> None:
    found = [Missing(reason) for reason in reasons]
    assert (has_to_come(found), is_to_come(found)) == (waits, waits_alone)


def test_a_cost_is_partial_if_a_part_of_it_is_not_known() -> None:
    out = [Reason.NO_VALUE, Reason.NO_VALUE_BEFORE, Reason.NO_AGREEMENT, Reason.NO_HIRE_TERMS, Reason.NO_FINANCE_TERMS]
    out += [
        Reason.NO_AGREEMENT_BEFORE,
        Reason.NO_FILLS,
        Reason.NO_FILL_BEFORE,
        Reason.NO_FILL_AFTER,
        Reason.COVER_WITHOUT_READINGS,
    ]
    assert {reason for reason in Reason if leaves_out_cost([Missing(reason)])} == set(out)
    unvalued = COMPLETE._replace(agreements=())
    assert [running_cost(book, MARCH, depreciation_rate=Decimal(0)).is_partial for book in (COMPLETE, unvalued)] == [
        False,
        True,
    ]


def test_why_records_of_lessons_do_not_reach() -> None:
    lacking = [Reason.NO_TEACHING, Reason.NO_LESSONS_BEFORE, Reason.NO_LESSONS_AFTER]
    assert [one.reason for one in of_lessons(map(Missing, [*lacking, Reason.HOURS_UNTOLD]))] == lacking
