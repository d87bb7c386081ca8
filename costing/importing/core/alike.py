"""Which rows look like something that is in the book already, or like an earlier row of the file."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

#: A payment stands in a bank's statement up to so many days after it was made.
WITHIN = timedelta(days=3)
#: The longest time for which lessons are brought as one row.
LONGEST = timedelta(days=366)


class Known(NamedTuple):
    """What something is compared by. ``about`` is what it was for and who was paid, in lower case.

    Of lessons, which have no sum, the days ``day`` to ``until`` of a car are compared.
    """

    day: date
    about: frozenset[str]
    words: str
    amount: Decimal | None = None
    until: date | None = None


#: What a payment and a fill have in common: a bank knows nothing of litres.
A_FILL = "a fill"


def alike(rows: Sequence[Known], book: Iterable[Known]) -> list[str]:
    """Return for each row the words of what it looks like: one of the book, or an earlier row; empty if nothing."""
    seen: dict[tuple[Decimal | None, date], list[Known]] = defaultdict(list)
    for one in book:
        for day in _own_days(one):
            seen[one.amount, day].append(one)
    found = []
    for row in rows:
        near = (one for day in _near_days(row) for one in seen.get((row.amount, day), ()))
        found.append(next((one.words for one in near if row.about & one.about), ""))
        # Two payments are not alike because each could be a fill.
        as_seen = row._replace(about=row.about - {A_FILL})
        for day in _own_days(row):
            seen[row.amount, day].append(as_seen)
    return found


def _own_days(one: Known) -> Iterator[date]:
    yield from _days(one.day, min(one.until or one.day, one.day + LONGEST))


def _near_days(one: Known) -> Iterator[date]:
    if one.until:
        yield from _own_days(one)
    else:
        yield one.day
        yield from _days(one.day - WITHIN, one.day + WITHIN)


def _days(first: date, last: date) -> Iterator[date]:
    for number in range((last - first).days + 1):
        yield first + timedelta(days=number)
