"""Which figures may be uncertain, and what a case becomes when one of them has another value."""

from fractions import Fraction

import pytest

from costing.choosing.core.case import Case, Fuel, Running, Spread, Uncertain, WeeksOff
from costing.choosing.core.inputs import Input, Place, base_of, bears_on, inputs_of, varied
from tests.core.costing.choosing.cases import HIRE, OWNED, RENTAL, case

TWO_FUELS = (
    Fuel(Fraction(150), "litre", Fraction(50), Fraction("0.3")),
    Fuel(Fraction(31), "kwh", Fraction("3.6"), Fraction("0.7")),
)
MIXED = OWNED._replace(name="Plug-in", running=Running(fuel=TWO_FUELS, insurance=(700_00,), repairs_per_year=90_00))


def ranged(of: Case, name: str, *spreads: tuple[int, int, int], offer: str = "", at: int = 0) -> Case:
    told = tuple(Spread(*map(Fraction, spread)) for spread in spreads)
    return of._replace(uncertain=(*of.uncertain, Uncertain(name, told, offer, at)))


def test_the_inputs_of_a_case_are_what_it_tells_of_what_nobody_knows_for_certain() -> None:
    found = inputs_of(case(MIXED, RENTAL))

    assert [(*one.place, one.base) for one in found] == [
        ("value_at_horizon", "Plug-in", 0, 3_300_00),
        ("payment", "Weekly rental", 0, 142_50),
        ("miles_per_year", "", 0, 21_000),
        ("insurance", "", 0, 1_080_00),
        ("repairs_per_year", "", 0, 380_00),
        ("fuel_pence_per_mile", "", 0, Fraction("14.2")),
        ("insurance", "Plug-in", 0, 700_00),
        ("repairs_per_year", "Plug-in", 0, 90_00),
        ("pence_per_litre", "Plug-in", 0, 150),
        ("pence_per_kwh", "Plug-in", 1, 31),
        ("weeks_off", "", 0, 0),
        ("months", "", 0, 33),
    ]


def test_what_is_not_told_is_no_input() -> None:
    bare = case(OWNED._replace(value_at_horizon=None), running=Running())

    assert [one.place.input for one in inputs_of(bare)] == ["miles_per_year", "weeks_off", "months"]


def test_whatever_has_a_range_is_an_input_and_one_for_an_offer_alone_is_its_own() -> None:
    of = ranged(ranged(case(OWNED, HIRE), "tyre_set", (1, 2, 3)), "servicing_per_year", (4, 5, 6), offer=OWNED.name)
    of = ranged(of, "pence_per_litre", (1, 2, 3), offer=HIRE.name, at=1)

    assert inputs_of(of)[-2:] == (
        Input(Place("tyre_set"), Fraction(344_00), Spread(Fraction(1), Fraction(2), Fraction(3))),
        Input(Place("servicing_per_year", OWNED.name), Fraction(310_00), Spread(Fraction(4), Fraction(5), Fraction(6))),
    )  # the common fuel is priced by the mile: there is no second one to have a range
    assert base_of(of, Place("repairs_per_year", OWNED.name)) is None  # it has no own, and no range of its own


@pytest.mark.parametrize(
    ("place", "unit", "is_whole"),
    [
        (Place("price", "An offer"), "pounds", False),
        (Place("excess_pence_per_mile", "An offer"), "pence", False),
        (Place("pence_per_kwh"), "pence", False),
        (Place("miles_per_year"), "miles", False),
        (Place("weeks_off"), "weeks", True),
        (Place("months"), "months", True),
    ],
)
def test_each_input_is_in_the_unit_of_the_document(place: Place, unit: str, is_whole: bool) -> None:
    assert (place.unit, place.is_whole) == (unit, is_whole)


def test_a_common_figure_bears_on_the_offers_that_neither_include_it_nor_have_their_own() -> None:
    of = case(OWNED, MIXED, RENTAL)

    def bearing(*place: str) -> list[str]:
        return [offer.name for offer in of.offers if bears_on(of, Place(*place), offer)]

    assert bearing("repairs_per_year") == [OWNED.name]
    assert bearing("fuel_pence_per_mile") == [OWNED.name, RENTAL.name]
    assert bearing("pence_per_litre", "Plug-in") == ["Plug-in"]
    assert bearing("payment", RENTAL.name) == [RENTAL.name]
    assert bearing("months") == bearing("miles_per_year") == [offer.name for offer in of.offers]
    assert bearing("lesson_hour_price") == []


def test_another_value_is_put_where_the_figure_stands_in_whole_pence() -> None:
    of = case(OWNED, MIXED)

    changed = varied(
        of,
        {
            Place("miles_per_year"): Fraction("12000.5"),
            Place("lesson_hour_price"): Fraction(40_00),
            Place("repairs_per_year"): Fraction("400.5"),
            Place("value_at_horizon", OWNED.name): Fraction(2_000_00),
            Place("pence_per_kwh", "Plug-in", 1): Fraction("25.5"),
            Place("repairs_per_year", "Plug-in"): Fraction(7),
            Place("fuel_pence_per_mile"): Fraction("15.3"),
        },
    )
    assert (changed.months, changed.off) == (33, None)
    use, running = changed.case.use, changed.case.running
    assert (use.miles_per_year, use.lesson_hour_price) == (Fraction("12000.5"), 40_00)
    assert (running.repairs_per_year, running.fuel) == (401, (Fuel(Fraction("15.3")),))
    first, second = changed.case.offers
    assert first.value_at_horizon == 2_000_00
    assert second.running.repairs_per_year == 7
    assert second.running.fuel == (TWO_FUELS[0], TWO_FUELS[1]._replace(price=Fraction("25.5")))
    assert of == case(OWNED, MIXED)


def test_a_figure_of_the_common_table_becomes_an_offers_own() -> None:
    of = case(OWNED, HIRE)

    changed = varied(of, {Place("fuel_pence_per_mile", HIRE.name): Fraction(9)}).case
    assert changed.running == of.running
    assert [offer.running.fuel for offer in changed.offers] == [None, (Fuel(Fraction(9)),)]


def test_later_years_of_insurance_go_with_the_first_or_are_given_by_year() -> None:
    place, of = Place("insurance"), case(OWNED)

    assert varied(of, {place: Fraction(540_00)}).case.running.insurance == (540_00, 470_00)
    assert varied(of, {place: (Fraction(3), Fraction("4.5"))}).case.running.insurance == (3, 5)
    free = case(OWNED, running=Running(insurance=(0, 100_00)))
    assert varied(free, {place: Fraction(50)}).case.running.insurance == (50, 50)  # nothing has no proportion


def test_months_are_how_long_one_stays_and_weeks_off_begin_with_the_first() -> None:
    of = case(OWNED)

    changed = varied(of, {Place("months"): Fraction(7), Place("weeks_off"): Fraction(4)})
    assert (changed.case, changed.months, changed.off) == (of, 7, WeeksOff(1, 4))
    assert varied(of, {Place("weeks_off"): Fraction(0)}).off is None
    assert changed.figures_of(OWNED.name).months == 7
