"""A neighbour that does not answer is left alone, and then asked by one."""

import time
from concurrent.futures import ThreadPoolExecutor

from config.outage import Outage


def time_is_up(outage: Outage) -> None:
    """Let the time pass for which it is to be left alone, as nobody waits for that here."""
    assert outage._until is not None
    assert 500 < outage._until - time.monotonic() <= outage.seconds
    outage._until = time.monotonic()


def test_once_its_time_is_up_one_asks_and_the_others_go_on_without() -> None:
    outage = Outage("A neighbour", 600)
    assert not outage.is_on()
    outage.begin(TimeoutError())
    assert outage.is_on()
    time_is_up(outage)
    with ThreadPoolExecutor(8) as pool:
        assert sorted(pool.map(lambda _: outage.is_on(), range(40))) == [False] + [True] * 39
    # Whoever asked was never heard of again.
    time_is_up(outage)
    assert [outage.is_on(), outage.is_on()] == [False, True]
    outage.forget()
    assert not outage.is_on()
