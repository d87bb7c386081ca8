"""What is asked about a plan of what to charge: a nought too many or too few; nothing of what is ordinary."""

import pytest

from costing.planning.core.plausible_charge import OfBook, doubts, limits
from fleet.core.plausible.doubt import Change, Doubt

NONE = dict.fromkeys(
    ("lesson_hour_price", "wanted", "other_costs", "car_a_week", "hours_a_week", "weeks_a_year", "car_pence_a_mile")
)
#: 29.9 hours in each of 365/7 weeks, and 13.2p a mile.
BOOK = OfBook(155_907, 1_320)


def asked(
    before: dict[str, int | None] | None = None,
    taken: tuple[int, int, int] | None = None,
    of_book: OfBook = OfBook(),  # noqa: B008 - it cannot be changed
    **typed: int,
) -> list[Doubt]:
    return doubts({**NONE, **typed}, limits(before or {}, taken, of_book))


def reasons(found: list[Doubt]) -> list[str]:
    return [doubt.reason for doubt in found]


@pytest.mark.parametrize("price", [1_000, 3_800, 15_000])
def test_an_ordinary_price_is_not_asked_about(price: int) -> None:
    assert asked(lesson_hour_price=price) == []


@pytest.mark.parametrize("price", [41_000, 999, 15_001])
def test_any_other_is(price: int) -> None:
    found = asked(lesson_hour_price=price)
    assert reasons(found) == ["charge_new"]
    assert found[0].figures == {"price": price, "usual": 3_800}
    assert found[0].key == f"charge_new:{price / 100:.2f}".rstrip("0").rstrip(".")
    assert found[0].meanings


def test_to_charge_nothing_is_asked_about_whatever_is_known() -> None:
    assert reasons(asked(lesson_hour_price=0)) == ["charge_new"]
    assert reasons(asked(None, (-5, 3_600, 6_300), lesson_hour_price=0)) == ["charge_taken"]
    assert reasons(asked({"lesson_hour_price": 3_800}, lesson_hour_price=0)) == ["charge_before"]
    assert asked(lesson_hour_price=0)[0].meanings == ()


def test_of_one_digit_no_other_one_is_guessed() -> None:
    taken = (1_500, 3_600, 6_300)
    assert asked(None, taken, lesson_hour_price=100)[0].meanings == ()
    assert asked(None, taken, lesson_hour_price=300)[0].meanings[0].changes == (Change("lesson_hour_price", "30"),)
    assert len(asked(None, taken, lesson_hour_price=300)[0].meanings) == 1
    assert len(asked(None, taken, lesson_hour_price=1_000)[0].meanings) > 1


def test_a_nought_too_many_is_taken_off() -> None:
    assert asked(lesson_hour_price=41_000)[0].meanings[0].changes == (Change("lesson_hour_price", "41"),)


def test_the_price_before_says_more() -> None:
    before: dict[str, int | None] = {"lesson_hour_price": 3_800}
    assert asked(before, lesson_hour_price=1_900) == asked(before, lesson_hour_price=7_600) == []
    for price in (1_899, 7_601):
        found = asked(before, lesson_hour_price=price)
        assert (reasons(found), found[0].figures["usual"]) == (["charge_before"], 3_800)


def test_what_was_taken_an_hour_says_most() -> None:
    taken = (-5, 3_600, 6_300)
    assert asked(None, taken, lesson_hour_price=6_300) == asked(None, taken, lesson_hour_price=1) == []
    found = asked(None, taken, lesson_hour_price=6_301)
    assert (reasons(found), found[0].figures["usual"]) == (["charge_taken"], 3_600)
    # A price that was found right may rise or fall by a quarter.
    before: dict[str, int | None] = {"lesson_hour_price": 8_000}
    assert asked(before, taken, lesson_hour_price=10_000) == []
    assert reasons(asked(before, taken, lesson_hour_price=10_001)) == ["charge_taken"]
    before = {"lesson_hour_price": 1_000}
    assert asked(before, (900, 3_600, 6_300), lesson_hour_price=750) == []
    assert reasons(asked(before, (900, 3_600, 6_300), lesson_hour_price=749)) == ["charge_taken"]


@pytest.mark.parametrize(("field", "most"), [("wanted", 300_000), ("other_costs", 50_000), ("car_a_week", 60_000)])
def test_sums_of_a_week_are_held_against_the_plan_before(field: str, most: int) -> None:
    assert asked(**{field: 0}) == asked(**{field: most}) == []
    found = asked(**{field: most + 1})
    assert (reasons(found), found[0].figures) == ([f"{field}_new"], {"sum": most + 1, "usual": most // 5})
    before: dict[str, int | None] = {field: 10_000}
    assert asked(before, **{field: 2_500}) == asked(before, **{field: 40_000}) == []
    for pence in (2_499, 40_001):
        found = asked(before, **{field: pence})
        assert (reasons(found), found[0].figures) == ([f"{field}_before"], {"sum": pence, "usual": 10_000})


def test_a_week_has_not_so_many_hours() -> None:
    assert asked(hours_a_week=6_000) == []
    found = asked(hours_a_week=12_050)
    assert (reasons(found), found[0].figures) == (["hours_many"], {"minutes": 7_230})
    assert found[0].key == "hours_many:120.5"


@pytest.mark.parametrize(("low", "high", "of_book"), [(300, 6_000, OfBook()), (330, 5_280, BOOK)])
def test_pence_a_mile_are_held_against_the_book_or_what_is_usual(low: int, high: int, of_book: OfBook) -> None:
    for pence in (low, high):
        assert asked(of_book=of_book, car_pence_a_mile=pence) == []
    reason = "mile_book" if of_book.mile else "mile_new"
    for pence in (low - 1, high + 1):
        assert reasons(asked(of_book=of_book, car_pence_a_mile=pence)) == [reason]


def test_pounds_typed_for_pence_are_taken_for_pence() -> None:
    found = asked(of_book=BOOK, car_pence_a_mile=13)
    assert found[0].figures == {"typed": "0.13", "usual": "13.2"}
    assert found[0].meanings[0].changes == (Change("car_pence_a_mile", "13"),)
    assert asked(car_pence_a_mile=13)[0].meanings[0].changes == (Change("car_pence_a_mile", "13"),)


def test_hours_of_a_week_are_held_against_the_book() -> None:
    assert asked(of_book=BOOK, hours_a_week=1_495) == asked(of_book=BOOK, hours_a_week=4_485) == []
    for hours in (1_494, 4_486):
        found = asked(of_book=BOOK, hours_a_week=hours)
        assert (reasons(found), found[0].figures["usual"]) == (["hours_book"], 1_794)


def test_the_hours_of_the_book_are_those_of_as_many_weeks() -> None:
    # 1,559.07 hours a year are 33.9 in each of 46 weeks.
    assert asked(of_book=BOOK, hours_a_week=1_695, weeks_a_year=4_600) == []
    assert asked(of_book=BOOK, hours_a_week=5_085, weeks_a_year=4_600) == []
    for hours in (1_694, 5_086):
        (found,) = asked(of_book=BOOK, hours_a_week=hours, weeks_a_year=4_600)
        assert (found.reason, found.figures["usual"]) == ("hours_book", 2_034)


def test_hours_and_weeks_that_are_swapped_are_swapped_back() -> None:
    swapped = (Change("hours_a_week", "30"), Change("weeks_a_year", "46"))
    for of_book in (BOOK, OfBook()):
        found = asked(of_book=of_book, hours_a_week=4_600, weeks_a_year=3_000)
        assert found[0].meanings[0].changes == swapped
        assert found[0].meanings[0].name == "swap_weeks"
    assert asked(of_book=BOOK, hours_a_week=3_000, weeks_a_year=4_600) == []


def test_few_weeks_of_a_year_are_asked_about() -> None:
    assert asked(weeks_a_year=3_200) == asked(weeks_a_year=5_200) == []
    found = asked(weeks_a_year=3_199)
    assert (reasons(found), found[0].figures) == (["weeks_few"], {"weeks": "31.99"})
