"""What stands out in any book: its order, its keys, and that a dismissed one stays so while nothing changes."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from costing.core.economy import stretches
from costing.core.keeping import own_times
from costing.core.records import CarBook, Cost, Fill, Keeping, Reading, Service, Valuation
from costing.statement.core.odd import ENOUGH, Kind, odd, seen
from tests.core.costing.books import books, days

TODAY = date(2028, 3, 16)
HELD = (Valuation(date(2026, 1, 1), 500_000),)


def fallen(fuel: str = "litre") -> CarBook:
    """Thirty-six tanks every five days, the last eight an eighth lower."""
    miles = [400, 404, 396, 402] * 7 + [350, 352, 348, 351] * 2
    first = TODAY - timedelta(days=5 * len(miles))
    logged = [
        Fill(first + timedelta(days=5 * number), 40_000 + sum(miles[:number]), 40_000, fuel, 5_000, True, False)  # type: ignore[arg-type]
        for number in range(len(miles) + 1)
    ]
    return CarBook(Service(date(2026, 1, 1), None), fills=tuple(logged), valuations=HELD)


def names(book: CarBook, today: date) -> list[tuple[Kind, str]]:
    return [(one.kind, one.key) for one in odd(book, today)]


def test_fallen_economy_is_found_with_its_figures() -> None:
    book = fallen()
    (one,) = odd(book, TODAY)
    began = list(stretches(book.fills, "litre"))[-8]
    assert (one.kind, one.about, one.key, one.is_open) == (Kind.ECONOMY, "litre", f"litre:{began.ends_on}", True)
    assert (one.first, one.last) == (began.begins_on, TODAY)
    assert dict(one.figures) == {"tanks": 8}
    assert one.fall is not None
    assert one.fall.tanks_before == 23


def test_a_charge_is_as_good_as_a_tank_and_a_car_given_up_is_not_asked_about() -> None:
    assert [one.about for one in odd(fallen("kwh"), TODAY)] == ["kwh"]
    handed_over = (Keeping(1, date(2026, 1, 1), TODAY - timedelta(days=1)), Keeping(2, TODAY, None))
    assert odd(fallen()._replace(keepings=handed_over, whose=1), TODAY) == []


def test_the_gravest_stands_first() -> None:
    before = date(2027, 9, 30)
    covers = [
        Cost(date(2027, 4, 1), category, 50_000, date(2027, 4, 1), before)
        for category in ("breakdown_cover", "vehicle_tax", "insurance")
    ]
    past = Cost(date(2027, 3, 5), "insurance", 1, date(2027, 3, 5), date(2027, 3, 25))
    jump = Reading(date(2027, 6, 1), 10_000), Reading(date(2027, 6, 2), 30_000)
    book = fallen()._replace(costs=(*covers, past, Cost(TODAY, "servicing", 1)), readings=jump)
    assert [(one.kind, one.about, one.is_open) for one in odd(book, TODAY)] == [
        (Kind.COVER, "insurance", True),
        (Kind.COVER, "vehicle_tax", True),
        (Kind.COVER, "breakdown_cover", True),
        (Kind.ECONOMY, "litre", True),
        (Kind.COVER, "insurance", False),
        (Kind.JUMP, "", False),
    ]


def test_what_was_looked_at_is_told() -> None:
    cost = Cost(date(2027, 4, 1), "insurance", 50_000, date(2027, 4, 1), date(2028, 3, 31))
    longer = cost._replace(covers_from=date(2027, 3, 20), covers_to=date(2028, 4, 30))
    found = seen(fallen()._replace(costs=(cost, longer)), TODAY)
    assert found.stretches == {"litre": 36}
    assert found.stretches["litre"] >= ENOUGH
    assert found.covers == {"insurance": (date(2027, 3, 20), date(2028, 4, 30))}
    assert (found.takes_both, found.readings) == (False, 37)
    nothing = seen(CarBook(Service(date(2026, 1, 1), None)), TODAY)
    assert nothing == ({}, False, {}, 0)


def test_loans_and_times_to_come_are_not_looked_at() -> None:
    lent = (Keeping(1, date(2028, 3, 1), date(2028, 3, 12)), Keeping(2, date(2028, 3, 13), None))
    jump = Reading(date(2028, 3, 2), 10_000), Reading(date(2028, 3, 3), 30_000)
    book = CarBook(Service(date(2026, 1, 1), None), readings=jump, keepings=lent, whose=1, as_of=TODAY)
    assert odd(book, TODAY) == []
    assert odd(book._replace(service=Service(date(2028, 4, 1), None), whose=None), TODAY) == []


@given(books(), days, st.data())
def test_the_order_of_the_records_changes_nothing_and_each_key_is_there_once(
    book: CarBook, today: date, data: st.DataObject
) -> None:
    found = names(book, today)
    assert len(set(found)) == len(found)
    assert all(len(key) <= 60 for _, key in found)
    for name in ("readings", "costs", "fills", "keepings"):
        book = book._replace(**{name: tuple(data.draw(st.permutations(getattr(book, name))))})
    assert names(book, today) == found
    seen(book, today)


@given(books(), days)
def test_what_was_dismissed_stays_so_while_nothing_is_logged(book: CarBook, today: date) -> None:
    """The next day, whatever goes on has the key that it had, unless the month or the time with the car is over."""
    tomorrow = today + timedelta(days=1)
    book = book._replace(
        readings=tuple(one for one in book.readings if one.read_on <= today),
        fills=tuple(one for one in book.fills if one.filled_on <= today),
        costs=tuple(one for one in book.costs if one.paid_on <= today),
    )
    goes_on = {(one.kind, one.key) for one in odd(book, today) if one.is_open}
    if tomorrow.month == today.month and any(
        time.period.first <= today < time.period.last and not time.is_loan for time in own_times(book)
    ):
        assert goes_on <= set(names(book, tomorrow))


def test_the_reading_of_a_handover_is_one_of_the_takers() -> None:
    begins = date(2028, 3, 1)
    keepings = (Keeping(1, date(2026, 1, 1), begins - timedelta(1)), Keeping(2, begins, None))
    readings = (Reading(begins - timedelta(9), 39_000), Reading(begins - timedelta(1), 40_000), Reading(begins, 40_010))
    book = CarBook(Service(date(2026, 1, 1), None), readings, keepings=keepings, whose=2)
    assert seen(book, TODAY).readings == 2
    assert seen(book._replace(readings=readings[:2]), TODAY).readings == 1
    assert seen(book._replace(readings=readings[:1]), TODAY).readings == 0
    # The evening before the days that are looked at begins no time.
    old = (Reading(date(2027, 2, 28), 30_000), Reading(date(2027, 3, 1), 30_010))
    assert seen(CarBook(Service(date(2026, 1, 1), None), old), TODAY).readings == 1
