"""Made-up books for hypothesis: small, but with every kind of record and every odd order of days."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import zip_longest

from hypothesis import strategies as st

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.records import (
    Agreement,
    CarBook,
    Cost,
    Fill,
    Keeping,
    Logged,
    Period,
    Reading,
    Service,
    Teaching,
    Unit,
    Valuation,
)

#: All days lie around the leap day of 2028.
START = date(2027, 11, 1)
days = st.integers(0, 500).map(lambda offset: START + timedelta(days=offset))
sums = st.integers(-90_000, 200_000)
rates = st.sampled_from([Decimal("0"), Decimal("0.15"), Decimal("0.215"), Decimal("1")])


@st.composite
def periods(draw: st.DrawFn) -> Period:
    first, last = sorted([draw(days), draw(days)])
    return Period(first, last)


@st.composite
def services(draw: st.DrawFn) -> Service:
    first, last = sorted([draw(days), draw(days)])
    return Service(first, draw(st.sampled_from([None, last])))


@st.composite
def costs(draw: st.DrawFn) -> Cost:
    category = draw(st.sampled_from(["insurance", "tyres", "repairs", "finance", "rental"]))
    bare = Cost(draw(days), category, draw(sums))
    covered = bare._replace(ended_on=draw(st.none() | days))
    kind = draw(st.sampled_from(["none", "days", "miles"]))
    if kind == "days":
        first, last = sorted([draw(days), draw(days)])
        return covered._replace(covers_from=first, covers_to=last)
    return covered._replace(covers_miles=draw(st.integers(1, 20_000))) if kind == "miles" else bare


def near(bounds: list[date]) -> st.SearchStrategy[date]:
    """Any day, as often one about a week from the first or last day of a time with the car."""
    beside = st.tuples(st.sampled_from(bounds), st.integers(-9, 9))
    return days | beside.map(lambda found: found[0] + timedelta(days=found[1]))


@st.composite
def distances(draw: st.DrawFn, bounds: list[date]) -> tuple[tuple[Reading, ...], tuple[Fill, ...]]:
    """Readings and fills of one odometer that never falls."""
    readings, fills, miles = [], [], draw(st.integers(0, 90_000))
    for day in sorted(draw(st.lists(near(bounds), max_size=9))):
        miles += draw(st.integers(0, 3_000) | st.integers(0, 6))
        if draw(st.booleans()):
            readings.append(Reading(day, miles))
        else:
            unit: Unit = draw(st.sampled_from(("litre", "litre", "kwh")))
            fills.append(
                Fill(
                    day,
                    miles,
                    draw(st.integers(1, 60_000)),
                    unit,
                    draw(st.integers(0, 9_000)),
                    draw(st.booleans()),
                    draw(st.sampled_from([False, False, True])),
                )
            )
    return tuple(draw(st.permutations(readings))), tuple(draw(st.permutations(fills)))


@st.composite
def teaching(draw: st.DrawFn) -> Teaching:
    first, last = sorted([draw(days), draw(days)])
    counts = st.sampled_from([None, *range(0, 500, 7)])
    minutes = draw(counts)
    return Teaching(first, last, draw(counts), None if minutes is None else minutes * 30, draw(counts))


@st.composite
def agreements(draw: st.DrawFn) -> Agreement:
    return Agreement(
        starts_on=draw(days),
        kind=draw(st.sampled_from(list(AGREEMENT_KINDS))),
        price=draw(st.none() | st.integers(1, 2_500_000)),
        deposit=draw(st.integers(0, 400_000)),
        payment=draw(st.integers(0, 60_000)),
        payments=draw(st.integers(0, 14)),
        frequency=draw(st.sampled_from(["month", "week"])),
        final_payment=draw(st.sampled_from([0, 0, 650_000])),
        fees=draw(st.sampled_from([0, 15_000])),
    )


@st.composite
def keepings(draw: st.DrawFn) -> tuple[Keeping, ...]:
    """Times of up to three keepers, some twice, with and without gaps; the last one may be open."""
    found: list[Keeping] = []
    marks = sorted(set(draw(st.lists(days, max_size=4)) + draw(st.lists(near([START]), max_size=4))))
    for first, following in zip_longest(marks, marks[1:]):
        last = None if following is None else following - timedelta(days=1)
        if last and (last - first).days > 1 and draw(st.booleans()):
            last -= timedelta(days=draw(st.integers(1, (last - first).days)))
        if last is None and draw(st.booleans()):
            last = first + timedelta(days=draw(st.integers(0, 90)))
        found.append(Keeping(draw(st.integers(1, 3)), first, last))
    return tuple(draw(st.permutations(found)))


@st.composite
def logs(draw: st.DrawFn, bounds: list[date]) -> Logged:
    first, last = sorted([draw(near(bounds)), draw(near(bounds))])
    return Logged(draw(st.integers(1, 3)), first, last)


def seen_by(member: int, book: CarBook, own: list[bool]) -> CarBook:
    """A member's own book: of a fill of somebody else's, only its day and its miles."""
    fills = [
        fill if is_own else Fill(fill.filled_on, fill.odometer, 0, fill.unit, 0, False, True, is_anothers=True)
        for fill, is_own in zip(book.fills, own, strict=False)
    ]
    return book._replace(fills=tuple(fills), whose=member)


@st.composite
def books(draw: st.DrawFn) -> CarBook:
    """One car's book, or a member's own of it; nothing in it is sorted."""
    service, kept = draw(services()), draw(st.just(()) | keepings())
    bounds = [day for span in (service, *((one.first, one.last) for one in kept)) for day in span if day]
    readings, fills = draw(distances(bounds))
    valued = draw(st.dictionaries(days, st.integers(0, 2_500_000), max_size=3))
    held = draw(st.lists(agreements(), max_size=3, unique_by=lambda agreement: agreement.starts_on))
    logged = st.lists(logs(bounds), max_size=8).map(tuple)
    book = CarBook(
        service=service,
        readings=readings,
        costs=tuple(draw(st.lists(costs(), max_size=5))),
        fills=fills,
        teaching=tuple(draw(st.lists(teaching(), max_size=4))),
        agreements=tuple(held),
        valuations=tuple(Valuation(day, pence) for day, pence in valued.items()),
        keepings=kept,
        logged=draw(logged) if kept else draw(st.none() | logged),
        as_of=draw(st.just(date.max) | near(bounds)),
    )
    if draw(st.booleans()):
        return book
    own = draw(st.lists(st.sampled_from([True, True, False]), min_size=len(fills), max_size=len(fills)))
    return seen_by(draw(st.integers(1, 3)), book, own)
