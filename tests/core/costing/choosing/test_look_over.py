"""The points looked at before signing, and the bills of a car's first year, worked out by hand."""

from datetime import date
from fractions import Fraction

from costing.choosing.core.case import Case, Fuel, Offer, Running, Use
from costing.choosing.core.look_over import POINTS, LookOver, PointGroup, Work, first_year_bills

USE = Use(date(2027, 2, 1), 30, Fraction(24_000), Fraction(3_000), Fraction(25), Fraction(44), 38_00)
RUNNING = Running(
    fuel=(Fuel(Fraction("12.5")),),
    insurance=(1_140_00, 985_00),
    vehicle_tax_per_year=195_00,
    mot=54_85,
    servicing_per_year=260_00,
    tyre_set=320_00,
    tyre_set_miles=Fraction(16_000),
)


def bills_of(offer: Offer, running: Running = RUNNING) -> dict[str, int | None]:
    return {bill.part.name: bill.pence for bill in first_year_bills(Case(USE, running, (offer,)), offer)}


def test_the_first_year_is_twelve_months_of_the_cars_own_table() -> None:
    used = Offer("Used car", "owned", price=8_000_00, first_registered=date(2022, 6, 1), running=Running(mot=40_00))
    assert bills_of(used) == {
        "fuel": 3_000_00,  # 24,000 miles at 12.5p
        "insurance": 1_140_00,
        "vehicle_tax": 195_00,
        "breakdown": None,
        "mot": 40_00,
        "servicing": 260_00,
        "repairs": None,
        "tyres": 480_00,  # one and a half sets
        "fit_out": None,
    }


def test_what_the_offer_includes_and_an_mot_not_yet_needed_are_no_bills() -> None:
    new = Offer(
        "Nearly new",
        "hire_purchase",
        date(2026, 6, 1),
        12_000_00,
        payment=300_00,
        payments=48,
        includes=frozenset({"servicing", "repairs", "breakdown", "fit_out"}),
    )
    assert list(bills_of(new)) == ["fuel", "insurance", "vehicle_tax", "tyres"]


def test_a_mot_that_falls_in_the_first_year_without_a_figure_is_not_told() -> None:
    used = Offer("Used car", "owned", date(2025, 2, 2), price=8_000_00)
    assert "mot" not in bills_of(used, RUNNING._replace(mot=None))
    older = used._replace(first_registered=date(2024, 1, 31))
    assert bills_of(older, RUNNING._replace(mot=None))["mot"] is None


def test_the_same_first_year_however_short_the_comparison() -> None:
    used = Offer("Used car", "owned", price=8_000_00)
    short = Case(USE._replace(months=6), RUNNING, (used,))
    assert first_year_bills(short, used) == first_year_bills(Case(USE, RUNNING, (used,)), used)


def test_what_was_found_is_what_was_answered() -> None:
    found = LookOver({"closed_roof": True, "keys": False, "recalls": True}, 2)
    assert [point.name for point in found.against] == ["keys"]
    assert len(found.not_yet) == len(POINTS) - 3
    assert "keys" not in {point.name for point in found.not_yet}
    assert [found.looked_at(group) for group in PointGroup] == [1, 2, 0]


def test_work_without_a_sum_adds_nothing() -> None:
    assert LookOver(work=(Work("Clutch", 650_00), Work("Tailgate"), Work("Tyre", 80_50))).work_pence == 730_50
    assert LookOver().work_pence == 0


def test_every_point_is_asked_so_that_a_no_speaks_against_the_car() -> None:
    for point in POINTS.values():
        assert point.question.endswith("?")
        assert not point.no.endswith((".", "?"))
