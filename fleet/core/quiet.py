"""When somebody who logs nothing gets a word about it."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple

#: So long without an entry, after joining or taking a car over, and since the last such word.
QUIET_FOR = timedelta(days=7)
#: Who has logged nothing for so long is counted among those whom the coordinator is told the number of.
LONG_QUIET = timedelta(days=14)


class Quiet(NamedTuple):
    """Since which day nothing was logged, and how many days that is."""

    since: date
    days: int


def quiet_on(on: date, heard_on: Iterable[date], told_on: date | None) -> Quiet | None:
    """Whether to say on ``on`` that nothing was logged; None if it is too soon.

    ``heard_on``: the days on which something was logged, and on which the member joined and took each car over, at
    least one; ``told_on`` is the day of the last such word, on an earlier day.
    """
    since = max(heard_on)
    if on - since < QUIET_FOR or (told_on is not None and on - told_on < QUIET_FOR):
        return None
    return Quiet(since, (on - since).days)


def is_long_quiet(on: date, heard_on: Iterable[date]) -> bool:
    """Whether the last of the days ``heard_on``, of which there is at least one, lies two weeks back or more."""
    return on - max(heard_on) >= LONG_QUIET
