"""Counting how often something is done, by many at once."""

from concurrent.futures import ThreadPoolExecutor

import pytest
import time_machine
from django.core.cache import cache

from config.limits import Limit, UsedUp, give_back, spend
from config.outage import REDIS

FEW = Limit("few", 3, 60)
MANY = Limit("many", 5, 3600)


def test_so_many_fit_and_no_more():
    for _ in range(3):
        spend([FEW.of("wren")])
    with pytest.raises(UsedUp):
        spend([FEW.of("wren")])
    spend([FEW.of("somebody else")])


def test_who_is_meant_is_never_mixed_up():
    for _ in range(3):
        spend([FEW.of("a", "bc")])
    spend([FEW.of("ab", "c")])


def test_there_is_room_again_when_it_says_so():
    with time_machine.travel("2026-03-16T12:00Z", tick=False) as clock:
        for _ in range(3):
            spend([FEW.of("wren")])
        clock.shift(40)
        with pytest.raises(UsedUp) as refused:
            spend([FEW.of("wren")])
        assert f"{refused.value.until:%H:%M:%S}" == "12:01:00"
        clock.shift(20)
        spend([FEW.of("wren")])


def test_what_is_refused_by_one_limit_is_counted_against_none():
    for _ in range(3):
        spend([MANY.of("wren"), FEW.of("wren")])
    for _ in range(10):
        with pytest.raises(UsedUp):
            spend([MANY.of("wren"), FEW.of("wren")])
    spend([MANY.of("wren")])
    spend([MANY.of("wren")])


def test_what_is_refused_leaves_nothing_in_the_cache():
    """Else one client could fill it with keys until the cache of one process drops those that hold it back."""
    for _ in range(3):
        spend([FEW.of("wren")])
    at_addresses = [MANY.of("wren", f"{number}@book.example") for number in range(5)]
    for allowance in at_addresses:
        for asked in ([FEW.of("wren"), allowance], [allowance, FEW.of("wren")]):
            with pytest.raises(UsedUp):
                spend(asked)
    assert cache.get_many([allowance.key for allowance in at_addresses]) == {}


def test_what_is_given_back_can_be_spent_again():
    for _ in range(10):
        give_back(spend([FEW.of("wren")]))


def test_of_many_at_once_no_more_get_through():
    def get_through(_: int) -> bool:
        try:
            spend([FEW.of("wren")])
        except UsedUp:
            return False
        return True

    with ThreadPoolExecutor(20) as threads:
        assert sum(threads.map(get_through, range(200))) == 3


def test_without_redis_this_process_counts_by_itself(no_redis: None) -> None:
    for _ in range(3):
        spend([FEW.of("wren")])
    with pytest.raises(UsedUp):
        spend([FEW.of("wren")])


def test_redis_may_go_and_come_between_any_two_steps() -> None:
    """A count that is begun in one place and not known in the other is not an error."""
    for moment in range(12):
        steps = iter(range(100))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(REDIS, "is_on", lambda: next(steps) >= moment)  # noqa: B023 - is called within this turn
            give_back(spend([MANY.of(f"wren {moment}")]))
            give_back(spend([MANY.of(f"wren {moment}")]))
