"""Until which day a car is known, and what is absent beyond it, by hand."""

from datetime import date
from decimal import Decimal

import pytest

from costing.core.known import known_until
from costing.core.missing import Missing, Reason
from costing.core.records import (
    Agreement,
    CarBook,
    Keeping,
    Logged,
    Period,
    Reading,
    Service,
    Valuation,
)
from costing.core.running_cost import RunningCost, running_cost
from tests.core.costing.april import ANN, APRIL, BEN, BOOK, FIRST, FUELLED, LAST, LOGGED, april, fill


def cost_of(book: CarBook, period: Period = APRIL) -> RunningCost:
    return running_cost(book, period, depreciation_rate=Decimal("0.15"))


def missing(book: CarBook, period: Period = APRIL) -> tuple[Missing, ...]:
    return cost_of(book, period).missing


def figures(cost: RunningCost) -> tuple[int | None, int | None, int | None]:
    return cost.cost_per_mile, cost.cost_per_lesson_hour, cost.cost_per_lesson


@pytest.mark.parametrize(
    ("change", "until"),
    [
        ({}, april(20)),
        # Readings: an odometer reading or a fill, whichever is later; here the fuel holds it back.
        ({"readings": (Reading(date(2027, 1, 1), 8_000), Reading(LAST, 13_000)), "logged": LOGGED}, april(20)),
        # Fuel reaches on to the last reading that shows at most 5 miles more than the last fill.
        ({"readings": (Reading(april(24), 12_505), Reading(LAST, 12_506)), "logged": LOGGED}, april(24)),
        ({"readings": (Reading(april(24), 12_506),), "logged": LOGGED}, april(20)),
        # A car that takes both: the last fill of either.
        ({"fills": (*BOOK.fills, fill(april(26), 12_700, "kwh")), "logged": LOGGED}, april(26)),
        # Lessons: the last day of a record in any car; it holds back what else is known.
        ({"fills": FUELLED}, april(20)),
        ({"fills": FUELLED, "logged": LOGGED}, LAST),
        # "None this week" is a record like any other.
        ({"fills": FUELLED, "logged": (*BOOK.logged, Logged(ANN, april(21), april(27)))}, april(27)),
        # Never past today.
        ({"fills": FUELLED, "logged": LOGGED, "as_of": april(22)}, april(22)),
        # Without a record of one of the three, no day is known.
        ({"fills": ()}, None),
        ({"logged": ()}, None),
        ({"readings": (), "fills": ()}, None),
        # With no word of other cars, the car's own teaching has it all.
        ({"fills": FUELLED, "logged": None}, april(20)),
        ({"fills": FUELLED, "logged": None, "teaching": ()}, None),
    ],
)
def test_a_car_is_known_until_the_earliest_of_readings_fuel_and_lessons(
    change: dict[str, object], until: date | None
) -> None:
    book = BOOK._replace(**change)

    assert cost_of(book).known_until == known_until(book) == until


def test_a_period_beyond_the_known_day_has_no_figures_and_says_what_lacks_from_when() -> None:
    known, beyond = Period(FIRST, april(20)), Period(FIRST, april(21))

    assert None not in figures(cost_of(BOOK, known))
    assert missing(BOOK, known) == ()
    assert figures(cost_of(BOOK, beyond)) == (None, None, None)
    assert missing(BOOK, beyond) == (
        (Reason.NO_READING_AFTER, april(20)),
        (Reason.NO_FILL_AFTER, april(20)),
        (Reason.NO_LESSONS_AFTER, april(20)),
    )
    # What is not divided is given all the same.
    assert cost_of(BOOK, beyond).true_cost > 0


def test_one_input_that_lacks_is_enough() -> None:
    read = BOOK._replace(readings=(*BOOK.readings, Reading(LAST, 12_900)), logged=LOGGED)

    assert missing(read) == ((Reason.NO_FILL_AFTER, april(20)),)
    assert figures(cost_of(read)) == (None, None, None)
    assert missing(read._replace(fills=())) == ((Reason.NO_FILLS, None),)
    assert missing(read._replace(fills=FUELLED, logged=())) == ((Reason.NO_TEACHING, None),)


@pytest.mark.parametrize(
    ("last_told", "as_of", "is_known", "estimated"),
    [
        (LAST, LAST, True, ()),
        (april(23), LAST, True, ("depreciation", "miles")),
        (april(22), LAST, False, ("depreciation",)),
        (april(23), april(29), False, ("depreciation",)),  # the end has not come
    ],
)
def test_at_the_end_of_the_service_the_last_records_may_lie_7_days_back(
    last_told: date, as_of: date, is_known: bool, estimated: tuple[str, ...]
) -> None:
    sold = BOOK._replace(
        service=Service(date(2027, 1, 1), LAST),
        fills=(BOOK.fills[0], fill(last_told, 12_800)),
        logged=(Logged(ANN, date(2027, 1, 1), last_told),),
        as_of=as_of,
    )

    cost = cost_of(sold)
    assert cost.is_known is is_known
    assert cost.known_until == (LAST if is_known else last_told)
    assert cost.estimated == (estimated or ("depreciation",))
    # Where nothing ends, nothing is taken as level.
    assert cost_of(sold._replace(service=Service(date(2027, 1, 1), None))).is_known is (last_told == LAST)


@pytest.mark.parametrize(
    ("first_told", "is_known", "estimated"),
    [(FIRST, True, []), (april(2), True, ["miles"]), (april(8), True, ["miles"]), (april(9), False, [])],
)
def test_at_the_start_of_the_service_the_first_records_may_lie_7_days_ahead(
    first_told: date, is_known: bool, estimated: list[str]
) -> None:
    new = BOOK._replace(
        service=Service(FIRST, None),
        readings=(),
        fills=(fill(first_told, 8_050), fill(LAST, 12_900)),
        logged=(Logged(ANN, first_told, LAST),),
        agreements=(Agreement(FIRST, "owned", 900_000),),
    )

    cost = cost_of(new)
    assert cost.is_known is is_known
    assert [name for name in cost.estimated if name == "miles"] == estimated
    reasons = (Reason.NO_READING_BEFORE, Reason.NO_FILL_BEFORE, Reason.NO_LESSONS_BEFORE)
    assert cost.missing == (() if is_known else tuple((reason, first_told) for reason in reasons))


def test_a_period_later_in_the_first_days_rests_on_the_same_level_miles() -> None:
    new = BOOK._replace(
        service=Service(FIRST, None), readings=(Reading(april(5), 8_050),), fills=(fill(FIRST, 8_050), FUELLED[1])
    )
    unread = new._replace(fills=(fill(april(5), 8_050), FUELLED[1]))

    # From the 5th the evening of the 4th is needed; from the 6th that of the 5th, which is read.
    for day, estimated in ((5, True), (6, False)):
        cost = cost_of(unread._replace(logged=LOGGED), Period(april(day), LAST))
        assert cost.is_known
        assert ("miles" in cost.estimated) is estimated
    assert "miles" not in cost_of(new._replace(logged=LOGGED)).estimated


@pytest.mark.parametrize(("untaught_from", "named"), [(april(3), april(3)), (april(4), None)])
def test_more_than_7_days_between_two_records_are_named_and_count_as_none_taught(
    untaught_from: date, named: date | None
) -> None:
    spans = (Logged(ANN, date(2027, 1, 1), untaught_from.replace(day=untaught_from.day - 1)),)
    book = BOOK._replace(fills=FUELLED, logged=(*spans, Logged(ANN, april(11), LAST)))
    cost = cost_of(book)

    assert cost.missing == (((Reason.DAYS_WITHOUT_LESSONS, named),) if named else ())
    assert cost.is_known
    # A period without one of those days says nothing of them.
    assert missing(book, Period(april(11), LAST)) == ()
    # A longer record, whatever came in between, tells its days.
    assert missing(book._replace(logged=(*book.logged, Logged(ANN, FIRST, april(9))))) == ()


HANDED_OVER = (Keeping(ANN, date(2027, 1, 1), april(20)), Keeping(BEN, april(21), None))


def test_at_the_end_of_a_members_time_too_the_last_records_may_lie_7_days_back() -> None:
    anns = BOOK._replace(
        keepings=HANDED_OVER,
        whose=ANN,
        fills=(BOOK.fills[0], fill(april(13), 12_300)),
        logged=(Logged(ANN, date(2027, 1, 1), april(13)),),
    )

    assert (cost_of(anns).is_known, known_until(anns)) == (True, april(20))
    late = anns._replace(logged=(Logged(ANN, date(2027, 1, 1), april(12)),))
    assert (missing(late), known_until(late)) == (((Reason.NO_LESSONS_AFTER, april(12)),), april(12))
    # A second time does not take away what reaches to the end of the first.
    back = anns._replace(keepings=(*HANDED_OVER[:1], Keeping(ANN, april(25), None)))
    assert known_until(back) == april(20)


def test_fills_and_lessons_are_the_members_and_readings_the_cars() -> None:
    bens = BOOK._replace(
        keepings=HANDED_OVER,
        whose=BEN,
        readings=(Reading(april(20), 12_500), Reading(LAST, 13_000)),
        fills=(fill(april(28), 12_960), fill(april(29), 12_970, anothers=True)),
        logged=(Logged(ANN, date(2027, 1, 1), LAST), Logged(BEN, april(21), LAST)),
        agreements=(Agreement(april(21), "owned", 700_000),),
    )

    assert known_until(bens) == april(28)
    assert known_until(bens._replace(fills=(fill(LAST, 13_000, anothers=True),))) is None
    assert known_until(bens._replace(logged=bens.logged[:1])) is None


def test_of_the_car_itself_lessons_are_the_first_and_the_last_keepers() -> None:
    car = BOOK._replace(fills=FUELLED, keepings=HANDED_OVER)
    anns, bens = Logged(ANN, date(2027, 1, 1), april(20)), Logged(BEN, april(21), LAST)

    assert known_until(car._replace(logged=(anns, bens))) == LAST
    assert missing(car._replace(logged=(anns, bens))) == ()
    # Ann's lessons in another car tell nothing of this one any more.
    assert known_until(car._replace(logged=(anns, Logged(BEN, april(21), april(24)), LOGGED[0]))) == april(24)
    assert known_until(car._replace(logged=(anns,))) is None
    assert missing(car._replace(logged=(bens,))) == ((Reason.NO_TEACHING, None),)
    # While the handover is still to come, Ann is the last keeper.
    assert known_until(car._replace(logged=(anns,), as_of=april(20))) == april(20)
    assert known_until(car._replace(logged=(anns,), as_of=april(21))) is None


def test_days_without_lessons_are_those_of_each_keepers_own_time() -> None:
    # Ann told nothing from the 1st to the 27th: the days to the 20th are the car's; Ben's record is a day later.
    logged = (
        Logged(ANN, date(2027, 1, 1), date(2027, 3, 31)),
        Logged(ANN, april(28), LAST),
        Logged(BEN, april(22), LAST),
    )
    car = BOOK._replace(fills=FUELLED, keepings=HANDED_OVER, logged=logged)

    assert missing(car) == ((Reason.DAYS_WITHOUT_LESSONS, FIRST),)
    assert missing(car, Period(april(21), LAST)) == ((Reason.NO_LESSONS_THEN, None),)


def test_without_a_known_value_on_one_day_the_loss_is_left_out_of_the_whole_period() -> None:
    unpriced = BOOK._replace(
        fills=FUELLED,
        logged=LOGGED,
        agreements=(Agreement(date(2027, 1, 1), "owned"),),
        valuations=(Valuation(april(2), 900_000), Valuation(april(12), 890_000)),
    )
    whole, later = cost_of(unpriced), cost_of(unpriced, Period(april(2), LAST))

    assert whole.is_without_value
    assert ("depreciation" in whole.by_category, whole.estimated, figures(whole)) == (False, (), (None, None, None))
    assert whole.missing == ((Reason.NO_VALUE_BEFORE, april(2)),)
    assert not later.is_without_value
    assert later.by_category["depreciation"] > 10_000
    assert None not in figures(later)
