"""Miles that nothing explains: between two readings, between two brims, and since the last fill."""

from datetime import date, timedelta

from costing.core.records import CarBook, Fill, Keeping, Reading, Service
from costing.statement.core.odd import Finding, Kind, odd, seen

TODAY = date(2028, 3, 16)
START = date(2028, 1, 1)


def fills(*miles: int, litres: int = 30, every: int = 5, **more: object) -> list[Fill]:
    """Full tanks, so many miles after one another."""
    shown = [sum(miles[: number + 1]) for number in range(len(miles))]
    return [
        Fill(
            *(START + timedelta(days=every * number), 40_000 + at, litres * 1000, "litre", 4_200, True, False),
            key=100 + number,
        )._replace(**more)
        for number, at in enumerate(shown)
    ]


def book(logged: list[Fill], *readings: Reading, **more: object) -> CarBook:
    return CarBook(Service(date(2026, 1, 1), None), fills=tuple(logged), readings=readings)._replace(**more)


def found(held: CarBook, kind: Kind) -> list[Finding]:
    return [one for one in odd(held, TODAY) if one.kind is kind]


# --- A fill between two brims ------------------------------------------------------------------------------


def test_a_stretch_that_goes_too_far_on_its_fuel_names_the_fill_that_ends_it() -> None:
    logged = fills(0, 300, 305, 295, 610, 302, 298)
    (one,) = found(book(logged), Kind.FILL)
    assert (one.about, one.first, one.last) == ("litre", logged[3].filled_on, logged[4].filled_on)
    assert (one.key, one.entry, one.is_open) == ("litre:2028-01-16:2028-01-21", 104, False)
    assert dict(one.figures) == {"miles": 610, "thousandths": 30_000, "usual": 300}
    logged[4] = logged[4]._replace(gap_before=True)
    assert found(book(logged), Kind.FILL) == [], "the member has said so"


def test_far_is_by_the_cars_own_scatter_and_by_two_fifths_at_least() -> None:
    assert found(book(fills(0, 300, 300, 300, 300, 420)), Kind.FILL) == []
    assert len(found(book(fills(0, 300, 300, 300, 300, 421)), Kind.FILL)) == 1
    assert found(book(fills(0, 300, 300, 300, 500)), Kind.FILL) == [], "four say nothing"
    assert found(book(fills(0, 200, 300, 400, 500, 250, 350)), Kind.FILL) == [], "its scatter is wide"


def test_a_fill_that_was_not_full_ends_no_stretch() -> None:
    logged = fills(0, 300, 305, 295, 310, 302, 298, 290, litres=15)
    logged[4] = logged[4]._replace(brimmed=False)
    assert found(book(logged), Kind.FILL) == []
    twice = fills(0, 300, 305, 295, 610, 302, 298)
    beside = twice[4]._replace(thousandths=1, brimmed=False, key=7, odometer=twice[4].odometer)
    (one,) = found(book([*twice, beside]), Kind.FILL)
    assert one.entry == 104


def test_a_car_that_takes_both_fuel_and_charge_tells_nothing_of_its_economy() -> None:
    charge = Fill(START, 40_000, 9_000, "kwh", 300, True, False)
    held = book([*fills(0, 300, 305, 295, 610, 302, 298), charge])
    assert found(held, Kind.FILL) == []
    assert seen(held, TODAY).takes_both
    assert seen(held, TODAY).stretches == {}


# --- None since --------------------------------------------------------------------------------------------


def test_many_miles_since_the_last_fill_stand_out() -> None:
    logged = fills(0, 300, 305, 295, 310, 302)
    at, read_on = logged[-1].odometer, logged[-1].filled_on + timedelta(days=9)
    assert found(book(logged, Reading(read_on, at + 453)), Kind.FILL) == []
    (one,) = found(book(logged, Reading(read_on, at + 454)), Kind.FILL)
    assert (one.about, one.first, one.last, one.is_open, one.key) == (
        "",
        logged[-1].filled_on,
        read_on,
        True,
        "2028-01-26",
    )
    assert dict(one.figures) == {"miles": 454, "usual": 302, "most": 310}
    (later,) = found(book(logged, Reading(read_on, at + 454), Reading(TODAY, at + 900)), Kind.FILL)
    assert later.key == one.key


def test_never_more_than_the_longest_of_ones_own_counts() -> None:
    logged = fills(0, 300, 305, 295, 500, 310, 302)
    assert found(book(logged, Reading(TODAY, logged[-1].odometer + 500)), Kind.FILL)[1:] == []
    assert len(found(book(logged, Reading(TODAY, logged[-1].odometer + 501)), Kind.FILL)) == 2


def test_it_takes_five_distances_of_ones_own_with_none_missing() -> None:
    far = Reading(TODAY, 99_000)
    assert found(book(fills(0, 300, 305, 295, 310), far), Kind.FILL) == []
    logged = fills(0, 300, 305, 295, 310, 302)
    logged[2] = logged[2]._replace(gap_before=True)
    assert found(book(logged, far), Kind.FILL) == []
    logged = fills(0, 300, 305, 295, 310, 302, 300, 300)
    blank = {"thousandths": 0, "pence": 0, "brimmed": False, "gap_before": True, "is_anothers": True}
    lent = [*logged[:-1], logged[-1]._replace(**blank)]
    assert found(book(lent, far), Kind.FILL) == [], "somebody else filled it last"
    assert len(found(book([*logged[:1], logged[1]._replace(**blank), *logged[2:]], far), Kind.FILL)) == 1


def test_nothing_is_asked_of_a_car_that_was_handed_over() -> None:
    held = book(fills(0, 300, 305, 295, 310, 302), Reading(date(2028, 2, 20), 99_000), whose=1)
    assert found(held, Kind.FILL)
    times = (Keeping(1, date(2026, 1, 1), date(2028, 2, 28)), Keeping(2, date(2028, 2, 29), None))
    assert found(held._replace(keepings=times), Kind.FILL) == []


# --- Jumps --------------------------------------------------------------------------------------------------


def test_more_miles_than_a_car_runs_are_a_jump() -> None:
    readings = Reading(date(2028, 2, 1), 40_000), Reading(date(2028, 2, 3), 41_410)
    assert found(book([], *readings), Kind.JUMP) == []
    (one,) = found(book([], readings[0], Reading(date(2028, 2, 3), 41_411)), Kind.JUMP)
    assert (one.first, one.last, one.is_open) == (date(2028, 2, 1), date(2028, 2, 3), False)
    assert (one.key, dict(one.figures)) == ("2028-02-01:2028-02-03", {"miles": 1_411, "days": 2})


def test_readings_of_two_times_or_of_long_ago_are_not_held_together() -> None:
    far = Reading(date(2028, 2, 1), 40_000), Reading(date(2028, 2, 3), 60_000)
    times = (Keeping(1, date(2026, 1, 1), date(2028, 2, 1)), Keeping(2, date(2028, 2, 2), None))
    assert found(book([], *far, keepings=times, whose=1), Kind.JUMP) == []
    assert found(book([], *far, keepings=times, whose=2), Kind.JUMP) == []
    old = Reading(date(2027, 2, 1), 40_000), Reading(date(2027, 2, 3), 60_000)
    assert found(book([], *old), Kind.JUMP) == []
