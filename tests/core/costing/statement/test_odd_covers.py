"""Holes in cover: worked examples, and every random book day by day."""

from datetime import date, timedelta

from hypothesis import given

from costing.core.keeping import own_times
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Cost, Keeping, Period, Service, Valuation
from costing.statement.core.odd import Finding, Kind, looked_at, odd
from tests.core.costing.books import books, days

TODAY = date(2028, 3, 16)
SINCE = date(2027, 3, 1)
HELD = (Valuation(SINCE, 500_000),)


def cover(first: date, last: date, category: str = "insurance", **more: object) -> Cost:
    return Cost(first, category, 60_000, first, last)._replace(**more)


def book(*costs: Cost, **more: object) -> CarBook:
    return CarBook(Service(date(2026, 1, 1), None), costs=costs, valuations=HELD, as_of=TODAY)._replace(**more)


def holes(held: CarBook, today: date = TODAY) -> list[Finding]:
    return [one for one in odd(held, today) if one.kind is Kind.COVER]


def test_what_is_looked_at() -> None:
    assert looked_at(TODAY) == (SINCE, TODAY)


def test_days_between_two_covers_are_a_hole() -> None:
    found = holes(book(cover(date(2027, 2, 1), date(2028, 1, 31)), cover(date(2028, 2, 10), date(2029, 2, 9))))
    assert [(one.about, one.first, one.last, one.is_open, one.key, dict(one.figures)) for one in found] == [
        ("insurance", date(2028, 2, 1), date(2028, 2, 9), False, "insurance:2028-02-01", {"days": 9, "followed": 1})
    ]


def test_a_cover_that_follows_or_overlaps_leaves_none() -> None:
    first = cover(date(2027, 2, 1), date(2028, 1, 31))
    assert holes(book(first, cover(date(2028, 2, 1), date(2029, 1, 31)))) == []
    assert (
        holes(book(cover(date(2028, 1, 20), date(2029, 1, 31)), first, cover(date(2027, 5, 1), date(2027, 6, 1)))) == []
    )


def test_a_cover_with_nothing_after_leaves_one_that_goes_on_with_the_same_key() -> None:
    held = book(cover(date(2027, 3, 10), date(2028, 3, 9), "vehicle_tax"))
    for today in (date(2028, 3, 10), TODAY, date(2028, 5, 1)):
        (hole,) = holes(held, today)
        assert not hole.figures["followed"]
        assert (hole.first, hole.last, hole.is_open, hole.key) == (
            date(2028, 3, 10),
            today,
            True,
            "vehicle_tax:2028-03-10",
        )
    assert holes(held, date(2028, 3, 9)) == []


def test_a_hole_to_come_is_told_before() -> None:
    (hole,) = holes(book(cover(date(2027, 4, 1), date(2028, 3, 31)), cover(date(2028, 4, 3), date(2029, 4, 2))))
    assert (hole.first, hole.last, hole.is_open) == (date(2028, 4, 1), date(2028, 4, 2), True)


def test_a_cover_that_was_ended_early_ends_then() -> None:
    ended = cover(date(2027, 4, 1), date(2028, 3, 31), ended_on=date(2028, 2, 14))
    (hole,) = holes(book(ended, cover(date(2028, 2, 16), date(2029, 2, 15))))
    assert (hole.first, hole.last) == (date(2028, 2, 15), date(2028, 2, 15))
    assert holes(book(cover(date(2027, 4, 1), date(2028, 3, 31), ended_on=date(2027, 3, 20)))) == [], "it never began"


def test_refunds_and_what_is_not_renewed_cover_nothing() -> None:
    refund = cover(date(2028, 2, 1), date(2028, 2, 9), pence=-4_000)
    first = cover(date(2027, 2, 1), date(2028, 1, 31))
    assert len(holes(book(first, refund, cover(date(2028, 2, 10), date(2029, 2, 9))))) == 1
    assert holes(book(cover(date(2027, 4, 1), date(2027, 5, 1), "fit_out"))) == []


def test_a_payment_that_tells_no_days_leaves_no_hole_near_it() -> None:
    first, second = cover(date(2027, 2, 1), date(2028, 1, 31)), cover(date(2028, 3, 1), date(2029, 2, 28))
    for paid_on, count in (
        (date(2027, 12, 31), 1),
        (date(2028, 1, 1), 0),
        (date(2028, 2, 29), 0),
        (date(2028, 3, 1), 1),
    ):
        assert len(holes(book(first, second, Cost(paid_on, "insurance", 5_000)))) == count
    assert len(holes(book(first, second, Cost(date(2028, 2, 1), "insurance", -5_000)))) == 1
    assert len(holes(book(first, second, Cost(date(2028, 2, 1), "vehicle_tax", 5_000)))) == 1


def test_only_days_of_ones_own_with_the_car_count() -> None:
    costs = cover(date(2027, 2, 1), date(2027, 6, 30)), cover(date(2028, 1, 10), date(2029, 1, 9))
    kept = (Keeping(1, date(2027, 1, 1), date(2027, 7, 4)), Keeping(2, date(2027, 7, 5), date(2027, 12, 31)))
    back = Keeping(1, date(2028, 1, 1), None)
    found = holes(book(*costs, keepings=(*kept, back), whose=1))
    assert [(one.first, one.last) for one in found] == [
        (date(2028, 1, 1), date(2028, 1, 9)),
        (date(2027, 7, 1), date(2027, 7, 4)),
    ]
    assert holes(book(costs[1], keepings=(*kept, back), whose=1)) == [], "nobody knows when its cover began"
    gone = book(*costs[:1], keepings=kept, whose=1)
    assert [(one.first, one.last, one.is_open) for one in holes(gone)] == [(date(2027, 7, 1), date(2027, 7, 4), False)]
    out = book(*costs[:1], service=Service(date(2026, 1, 1), date(2027, 6, 30)))
    assert holes(out) == []


def test_what_ended_before_the_days_looked_at_is_forgotten() -> None:
    later = cover(date(2027, 6, 1), date(2028, 5, 31))
    assert holes(book(cover(date(2026, 1, 1), date(2027, 2, 28)), later)) == []
    assert len(holes(book(cover(date(2026, 1, 1), date(2027, 3, 1)), later))) == 1


@given(books(), days)
def test_a_hole_is_there_if_and_only_if_its_days_say_so(held: CarBook, today: date) -> None:
    period = looked_at(today)
    costs = [one for one in held.costs if one.category == "insurance" and one.pence > 0]
    spans = [
        Period(one.covers_from, min(one.covers_to, one.ended_on or one.covers_to))
        for one in costs
        if one.covers_from and one.covers_to
    ]
    spans = [span for span in spans if span.first <= span.last and span.last >= period.first]
    undated = [one.paid_on for one in costs if not one.covers_from]
    own = [time.period for time in own_times(held) if not time.is_loan and time.period.first <= today]
    runs: list[list[date]] = []
    if spans:
        day, end = min(spans).first, max(today, *(span.last for span in spans))
        while day <= end:
            is_own = day >= period.first and any(time.first <= day <= time.last for time in own)
            if is_own and not any(span.first <= day <= span.last for span in spans):
                same = runs and runs[-1][-1] == day - ONE_DAY and not any(time.first == day for time in own)
                if same:
                    runs[-1].append(day)
                else:
                    runs.append([day])
            day += ONE_DAY
    expected = [
        (run[0], run[-1], len(run), run[-1] >= today)
        for run in runs
        if not any(run[0] - timedelta(days=31) <= paid <= run[-1] for paid in undated)
    ]
    found = [one for one in holes(held, today) if one.about == "insurance"]
    assert sorted((one.first, one.last, one.figures["days"], one.is_open) for one in found) == expected
