"""The silhouettes of the states, and the ring that fills as the notice time runs."""

import re

import pytest

from config.look.states import state_shape
from config.look.tokens import STATES


@pytest.mark.parametrize("name", STATES)
def test_every_state_has_something_to_draw_and_no_two_the_same(name: str) -> None:
    shape = state_shape(name)
    assert shape.filled or shape.outline
    others = [state_shape(other)._replace(name="") for other in STATES if other != name]
    assert shape._replace(name="") not in others


def test_a_sign_on_a_filled_shape_is_cut_out_of_it() -> None:
    assert state_shape("off").cut
    assert not state_shape("off").sign
    assert state_shape("booked").sign
    assert not state_shape("booked").cut


def ends_at(days_left: int, notice_days: int = 30) -> tuple[float, float]:
    found = re.search(r"([\d.]+) ([\d.]+)z$", state_shape("due", days_left, notice_days).filled)
    assert found
    return float(found[1]), float(found[2])


def test_the_ring_is_a_fifth_full_24_days_before_of_30() -> None:
    # 72 degrees from the top, clockwise, at a radius of 6.5.
    assert ends_at(24) == (18.18, 9.99)
    assert " 0 0 1 " in state_shape("due", 24).filled


def test_the_ring_is_nearly_full_5_days_before_of_30() -> None:
    # 300 degrees: past the half, on the left, above the middle.
    assert ends_at(5) == (6.37, 8.75)
    assert " 0 1 1 " in state_shape("due", 5).filled


def test_the_ring_fills_over_whatever_notice_time_there_is() -> None:
    assert ends_at(48, 60) == ends_at(24, 30)


@pytest.mark.parametrize("days_left", [0, -3, None])
def test_the_ring_is_full_on_the_day_and_when_the_day_is_not_known(days_left: int | None) -> None:
    assert state_shape("due", days_left).filled == state_shape("due", 0).filled
    assert "A6.5" not in state_shape("due", days_left).filled


def test_a_ring_of_due_is_never_empty() -> None:
    assert state_shape("due", 30).filled == state_shape("due", 29).filled
    assert state_shape("due", 300).filled == state_shape("due", 29).filled


def test_no_other_state_has_a_name() -> None:
    with pytest.raises(KeyError):
        state_shape("fine")
