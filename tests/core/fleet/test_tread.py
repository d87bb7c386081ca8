"""Which readings are of which tyre, wherever it was."""

from datetime import date
from decimal import Decimal

from fleet.core.tread import Depth, Move, Stay, readings_of_tyre, stays_of_tyre, unlawful_wheels

JANUARY, APRIL, JULY, OCTOBER = (date(2025, month, 1) for month in (1, 4, 7, 10))


def read(wheel: str, on: date, mm: str = "5.0") -> Depth:
    return Depth(wheel, on, Decimal(mm), Decimal("9.0"), Decimal("9.0"))


#: Front and rear left changed places in April; in July the front left got a new tyre.
MOVES = [
    Move("front_left", APRIL, "rear_left"),
    Move("rear_left", APRIL, "front_left"),
    Move("front_left", JULY),
]


def test_a_tyre_that_never_moved_has_all_readings_of_its_wheel_oldest_first() -> None:
    depths = [read("front_left", JULY), read("front_left", JANUARY), read("rear_left", APRIL)]
    assert [depth.read_on for depth in readings_of_tyre("front_left", depths, [])] == [JANUARY, JULY]


def test_readings_go_with_the_tyre_through_a_rotation() -> None:
    depths = [read("front_left", JANUARY, "6.0"), read("rear_left", JANUARY, "7.0"), read("rear_left", OCTOBER, "5.0")]
    tyre = readings_of_tyre("rear_left", depths, MOVES)
    assert [(depth.wheel, depth.read_on) for depth in tyre] == [("front_left", JANUARY), ("rear_left", OCTOBER)]


def test_a_new_tyre_begins_without_the_readings_of_the_old_one() -> None:
    depths = [read("front_left", JANUARY), read("rear_left", JANUARY), read("front_left", OCTOBER)]
    assert readings_of_tyre("front_left", depths, MOVES) == [read("front_left", OCTOBER)]


def test_a_reading_of_the_day_of_a_move_was_taken_after_it() -> None:
    depths = [read("front_left", APRIL), read("rear_left", APRIL), read("front_left", JULY)]
    assert readings_of_tyre("rear_left", depths, MOVES) == [read("rear_left", APRIL)]
    assert readings_of_tyre("front_left", depths, MOVES) == [read("front_left", JULY)]


def test_a_tyre_is_followed_through_two_rotations_back_to_where_it_was_new() -> None:
    moves = [
        Move("rear_right", JANUARY),
        Move("front_left", APRIL, "rear_right"),
        Move("rear_right", APRIL, "front_left"),
        Move("rear_left", JULY, "front_left"),
        Move("front_left", JULY, "rear_left"),
    ]
    stays = stays_of_tyre("rear_left", moves)
    assert [(stay.wheel, stay.since, stay.until, stay.is_first) for stay in stays] == [
        ("rear_left", JULY, date.max, False),
        ("front_left", APRIL, JULY, False),
        ("rear_right", JANUARY, APRIL, True),
    ]
    assert stays_of_tyre("front_right", moves) == [Stay("front_right", date.min, date.max, is_first=False)]


def test_the_last_reading_of_each_tyre_tells_whether_it_is_lawful() -> None:
    depths = [read("front_left", JANUARY, "1.5"), read("rear_right", JANUARY, "1.6"), read("rear_left", JANUARY, "1.2")]
    assert [depth.wheel for depth in unlawful_wheels(depths, [])] == ["front_left", "rear_left"]
    # The tyre that was at the front left, 1.5 mm, is at the rear left now; the front left has a new one.
    assert unlawful_wheels(depths, MOVES) == [read("front_left", JANUARY, "1.5")._replace(wheel="rear_left")]
    assert unlawful_wheels([*depths, read("rear_left", OCTOBER, "1.6")], MOVES) == []


def test_a_depth_is_even_only_if_all_three_places_are_as_deep() -> None:
    three = Decimal("3.0")
    assert Depth("front_left", JANUARY, three, three, three).is_even
    for at in range(3):
        depths = [three, three, three]
        depths[at] = Decimal("2.9")
        assert not Depth("front_left", JANUARY, *depths).is_even
