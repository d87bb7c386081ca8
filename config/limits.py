"""How often something may be done, counted in the cache so that all processes and threads share the count."""

import hashlib
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime

from django.core.cache import cache
from django.utils import timezone


class UsedUp(Exception):
    """A limit is reached; there is room again from ``until`` on."""

    def __init__(self, until: datetime) -> None:
        super().__init__(f"used up until {until:%H:%M:%S}")
        self.until = until

    @property
    def seconds(self) -> int:
        """How long to wait, for a Retry-After."""
        return max(1, round((self.until - timezone.now()).total_seconds()))

    @property
    def again(self) -> str:
        """When there is room again: "in 12 minutes, at 14:35"."""
        local = timezone.localtime(self.until)
        clock = f"{local:%H:%M}"
        if local.date() != timezone.localdate():
            return f"tomorrow at {clock}"
        if self.seconds > 3600:
            return f"at {clock}"
        minutes = -(-self.seconds // 60)
        return f"in {minutes} minute{'s' if minutes > 1 else ''}, at {clock}"


@dataclass(frozen=True)
class Limit:
    """At most ``most`` within ``seconds``, counted from the first one."""

    name: str
    most: int
    seconds: int

    def of(self, *whose: str) -> "Allowance":
        """This limit for one client, address, device or the like."""
        # Hashed, because a cache key may hold no spaces and should not reveal an e-mail address.
        digest = hashlib.sha256("\0".join(whose).encode()).hexdigest()
        return Allowance(self, f"limit:{self.name.replace(' ', '-')}:{digest}")


@dataclass(frozen=True)
class Allowance:
    """One limit as it counts for somebody."""

    limit: Limit
    key: str

    def ends_at(self) -> int:
        """When the running count ends, in seconds since the epoch; starts a count if none runs."""
        now = int(time.time())
        ends: int | None = cache.get_or_set(self.key, now + self.limit.seconds, self.limit.seconds)
        if ends is None or ends <= now:  # the cache may forget early or late
            ends = now + self.limit.seconds
            cache.set(self.key, ends, self.limit.seconds)
        return ends

    def used_up_until(self) -> int | None:
        """When there is room again, in seconds since the epoch, or None if there is room now. Writes nothing."""
        ends: int | None = cache.get(self.key)
        if ends is None or ends <= int(time.time()) or cache.get(self.counter(ends), 0) < self.limit.most:
            return None
        return ends

    def counter(self, ends: int) -> str:
        """The cache key of the count that ends at ``ends``."""
        return f"{self.key}:{ends}"


def spend(allowances: Sequence[Allowance]) -> list[str]:
    """Count one against each allowance. Raises UsedUp, and counts against none, if one is used up.

    Counting comes before deciding, so a hundred requests at once get no further than a hundred in turn. All allowances
    are looked at first, so that refused requests add no keys to the cache: a full local cache drops other keys, and
    their counts with them. Returns the counts for ``give_back``, in case the try need not count after all.
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
        with suppress(ValueError):  # the count has ended
            cache.decr(counter)


def _count(counter: str, seconds: int) -> int:
    # Kept a little longer than needed, so that it cannot vanish between these two lines, unless Redis itself does.
    for _ in range(2):
        cache.add(counter, 0, seconds + 60)
        with suppress(ValueError):
            return cache.incr(counter)
    return 1
