"""How often something may be done: counted in the cache, so that every process and thread sees the same count."""

import hashlib
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime

from django.core.cache import cache


class UsedUp(Exception):
    """A limit is reached; from the moment ``until`` on there is room again."""

    def __init__(self, until: datetime) -> None:
        super().__init__(f"used up until {until:%H:%M:%S}")
        self.until = until


@dataclass(frozen=True)
class Limit:
    """At most ``most`` within ``seconds``, which run from the first one on."""

    name: str
    most: int
    seconds: int

    def of(self, *whose: str) -> "Allowance":
        """What this limit leaves one client, address, device, or what else it is kept for."""
        # Hashed, since a key of the cache may hold no space, and an e-mail address is nobody's business there.
        digest = hashlib.sha256("\0".join(whose).encode()).hexdigest()
        return Allowance(self, f"limit:{self.name.replace(' ', '-')}:{digest}")


@dataclass(frozen=True)
class Allowance:
    """One limit, kept for somebody."""

    limit: Limit
    key: str

    def ends_at(self) -> int:
        """The second in which the running count ends; a new one is begun where none runs."""
        now = int(time.time())
        ends: int | None = cache.get_or_set(self.key, now + self.limit.seconds, self.limit.seconds)
        if ends is None or ends <= now:  # the cache forgets early, or late
            ends = now + self.limit.seconds
            cache.set(self.key, ends, self.limit.seconds)
        return ends

    def used_up_until(self) -> int | None:
        """The second from which there is room again, if nothing is left now; it leaves no trace in the cache."""
        ends: int | None = cache.get(self.key)
        if ends is None or ends <= int(time.time()) or cache.get(self.counter(ends), 0) < self.limit.most:
            return None
        return ends

    def counter(self, ends: int) -> str:
        """The cache's key of the count that ends then."""
        return f"{self.key}:{ends}"


def spend(allowances: Sequence[Allowance]) -> list[str]:
    """Count one against each of them; against none, and UsedUp, if one has nothing left.

    Counting comes before deciding: of a hundred who ask in the same moment no more get through than of a hundred
    who ask in turn. Before that, all are looked at once, so that whoever has used one up leaves no further keys
    in the cache: that of one process drops others, and with them their counts, when it is full. What is returned
    is for ``give_back``, should it turn out to be nothing to count.
    """
    for allowance in allowances:
        if until := allowance.used_up_until():
            raise UsedUp(datetime.fromtimestamp(until, UTC))
    counted: list[str] = []
    for allowance in allowances:
        ends = allowance.ends_at()
        counter = allowance.counter(ends)
        counted.append(counter)
        if _count(counter, allowance.limit.seconds) > allowance.limit.most:
            give_back(counted)
            raise UsedUp(datetime.fromtimestamp(ends, UTC))
    return counted


def give_back(counted: Sequence[str]) -> None:
    """Take back what ``spend`` counted."""
    for counter in counted:
        with suppress(ValueError):  # over, and forgotten
            cache.decr(counter)


def _count(counter: str, seconds: int) -> int:
    # Kept a little longer than it is asked for, so that it cannot vanish between the two lines.
    cache.add(counter, 0, seconds + 60)
    return cache.incr(counter)
