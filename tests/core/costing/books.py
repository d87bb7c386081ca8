"""Made-up books for hypothesis: small, but with every kind of record and every odd order of days."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import strategies as st

from costing.core.catalogue.agreements import AGREEMENT_KINDS
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


@st.composite
def distances(draw: st.DrawFn) -> tuple[tuple[Reading, ...], tuple[Fill, ...]]:
    """Readings and fills of one odometer that never falls."""
    readings, fills, miles = [], [], draw(st.integers(0, 90_000))
    for day in sorted(draw(st.lists(days, max_size=9))):
        miles += draw(st.integers(0, 3_000))
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
    counts = st.integers(0, 500)
    return Teaching(first, last, draw(counts), draw(counts) * 30, draw(counts))


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
def books(draw: st.DrawFn) -> CarBook:
    """One car's book; nothing in it is sorted."""
    readings, fills = draw(distances())
    valued = draw(st.dictionaries(days, st.integers(0, 2_500_000), max_size=3))
    held = draw(st.lists(agreements(), max_size=3, unique_by=lambda agreement: agreement.starts_on))
    return CarBook(
        service=draw(services()),
        readings=readings,
        costs=tuple(draw(st.lists(costs(), max_size=5))),
        fills=fills,
        teaching=tuple(draw(st.lists(teaching(), max_size=4))),
        agreements=tuple(held),
        valuations=tuple(Valuation(day, pence) for day, pence in valued.items()),
    )
