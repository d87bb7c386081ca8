"""A small count within a sentence is a word."""

from config.showing import in_words


def test_a_small_count_is_said_in_words() -> None:
    assert [in_words(count) for count in (0, 1, 10, 11)] == ["no", "one", "ten", "11"]
    assert [in_words(count, most=12) for count in (11, 12, 13)] == ["eleven", "twelve", "13"]
