"""The slow road: a purse that is opened on every day, and bills at random."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from hypothesis import strategies as st

from costing.planning.core.bills import Bill, Source
from costing.planning.core.pot import Weeks

TODAY = date(2026, 11, 26)
DAYS = 365


def bill(days: int, pence: int, *, pauses: bool = False) -> Bill:
    """A bill so many days from the first."""
    return Bill(TODAY + timedelta(days=days), pence, "Insurance", Source.TYPED, pauses=pauses)


def lowest(
    bills: Sequence[Bill], balance: int, weekly: int, off: frozenset[int] = frozenset(), days: range | None = None
) -> int:
    """The least that is ever in the purse, or on these days after their bills: each day its bills are paid, and at the
    end of each seventh day the weekly sum goes in, unless that week is off."""
    by_day: dict[date, int] = defaultdict(int)
    for one in bills:
        by_day[one.on] += one.pence
    in_purse, seen = balance, [] if days else [balance]
    for number in range(DAYS + 400):
        in_purse -= by_day[TODAY + timedelta(days=number)]
        if days is None or number in days:
            seen.append(in_purse)
        if number % 7 == 6 and number // 7 + 1 not in off:
            in_purse += weekly
    return min(seen)


bills = st.lists(
    st.builds(bill, st.integers(0, DAYS - 1), st.integers(1, 200_000), pauses=st.booleans()), min_size=1, max_size=25
)
off = st.frozensets(st.integers(1, 53), max_size=12)
weeks = st.builds(Weeks, st.just(TODAY), off)
balances = st.integers(0, 500_000)
