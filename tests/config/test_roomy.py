"""Calls with room ask the system for no memory, however deep they lie."""

import resource

import pytest

from config.roomy import roomy

#: As deep as the frames of two of CPython's chunks reach: at one of these depths a loop's calls begin a chunk.
DEPTHS = range(0, 400)
CALLS = 200


def _leaf() -> None:
    """A call of a loop."""


def _loop(depth: int) -> None:
    if depth:
        return _loop(depth - 1)
    for _ in range(CALLS):
        _leaf()
    return None


def _faults(call: object, depth: int) -> int:
    """How many pages of memory the system handed out during the call."""
    before = resource.getrusage(resource.RUSAGE_THREAD).ru_minflt
    call(depth)  # type: ignore[operator]
    return resource.getrusage(resource.RUSAGE_THREAD).ru_minflt - before


def test_a_loop_asks_for_no_memory_at_any_depth() -> None:
    loop = roomy(_loop)
    loop(DEPTHS[-1])
    assert max(_faults(loop, depth) for depth in DEPTHS) < CALLS / 2


def test_without_room_some_depth_asks_for_memory_at_every_call() -> None:
    """If this Python no longer does, `config/roomy.py` and its uses can go."""
    if max(_faults(_loop, depth) for depth in DEPTHS) < CALLS:
        pytest.skip("this Python keeps its chunks: nothing is left to mend")


def test_it_gives_back_what_the_function_gives_and_lets_pass_what_it_raises() -> None:
    @roomy
    def quotient(one: int, *, by: int) -> float:
        """One over the other."""
        return one / by

    assert quotient(3, by=2) == 1.5
    assert quotient.__doc__ == "One over the other."
    with pytest.raises(ZeroDivisionError):
        quotient(3, by=0)


def test_pages_are_answered_with_room(settings: object) -> None:
    assert settings.MIDDLEWARE[0] == "config.roomy.RoomyMiddleware"  # type: ignore[attr-defined]
