"""The weekly pot: what it answers, from which bills, and what it does not know."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Repeat
from costing.planning.core.bills import Bill, DayFrom, Lacks, Source
from costing.planning.pictures.pot import pot_page
from costing.planning.report import PotReport, pot_line, pot_report
from fleet.core.days import add_months
from fleet.models import Car
from fleet.queries import due_report
from instructors.models import Member
from tests.conftest import TODAY
from tests.costing.pages import shown
from tests.factories import (
    AgreementFactory,
    CompletionFactory,
    CostEntryFactory,
    DueItemFactory,
    HireFactory,
    OdometerReadingFactory,
    PotBillFactory,
    PotPlanFactory,
    RepeatFactory,
    TreadReadingFactory,
    TyreMoveFactory,
)

POT = reverse("costing:pot")

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture(autouse=True)
def registration(keeper: Member) -> None:
    """The keeper's registration, to be renewed beyond the next 12 months."""
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2029, 3, 31))


def report_of(car: Car) -> PotReport:
    return pot_report(car.keeper, TODAY)


def line_of(car: Car) -> str | None:
    line = pot_line(car.keeper, TODAY, due=due_report(TODAY, cars=[car], members=[car.keeper]))
    return line and line.words


def bills_for(car: Car, title: str) -> list[Bill]:
    return [bill for bill in report_of(car).bills.known if bill.title == title]


def told(car: Car, title: str) -> list[tuple[date, int, Source]]:
    return [(bill.on, bill.pence, bill.source) for bill in bills_for(car, title)]


def lacking(car: Car) -> dict[str, Lacks]:
    return {one.title: one.lacks for one in report_of(car).bills.not_known}


def insure(car: Car, due_on: date = date(2026, 5, 2), **cost: object) -> None:
    DueItemFactory.create(car=car, kind="insurance", due_on=due_on)
    paid = {"paid_on": "2025-05-03", "category": "insurance", "amount": "840.00"}
    CostEntryFactory.create(car=car, **paid, covers_from="2025-05-03", covers_to="2026-05-02", **cost)


# --- Renewals ---------------------------------------------------------------------------------------------


def test_a_renewal_falls_on_its_day_at_the_last_price(car: Car) -> None:
    insure(car)
    [bill] = bills_for(car, "Insurance")
    assert (bill.on, bill.pence, bill.source) == (date(2026, 5, 2), 840_00, Source.LAST_PRICE)
    assert (bill.of, bill.category, bill.told_on) == (car.registration, "insurance", date(2025, 5, 3))


def test_of_several_prices_that_of_the_latest_cover_counts(car: Car) -> None:
    insure(car)
    # Refunded; of a year before; voided; and a second part of the same cover.
    CostEntryFactory(car=car, category="insurance", amount="-90.00", paid_on="2026-01-02")
    old = {"paid_on": "2024-05-03", "covers_from": "2024-05-03", "covers_to": "2025-05-02"}
    CostEntryFactory(car=car, category="insurance", amount="990.00", **old)
    part = {"paid_on": "2025-05-03", "covers_from": "2025-05-03", "covers_to": "2026-05-02"}
    CostEntryFactory(car=car, category="insurance", amount="1.00", voided_at="2025-06-01T09:00Z", **part)
    CostEntryFactory(car=car, category="insurance", amount="20.00", **part)
    assert told(car, "Insurance") == [(date(2026, 5, 2), 860_00, Source.LAST_PRICE)]


@pytest.mark.parametrize(
    ("cover", "how"),
    [(("2025-11-02", "2026-05-02"), "a fee for a change"), ((None, None), "what was paid without cover")],
)
def test_what_the_whole_term_cost_is_the_price(
    everyone: dict[str, Client], car: Car, cover: tuple[str | None, str | None], how: str
) -> None:
    insure(car)
    first, last = cover
    paid = {"category": "insurance", "amount": "25.00", "paid_on": "2025-11-02"}
    CostEntryFactory(car=car, **paid, covers_from=first, covers_to=last)
    assert told(car, "Insurance") == [(date(2026, 5, 2), 865_00, Source.LAST_PRICE)], how
    assert "2 May 2026; last time £865.00 in two payments" in shown(everyone["keeper"], POT)


def test_a_quote_is_not_spent_by_an_instalment_of_the_term_before(car: Car) -> None:
    insure(car)
    quote = {"kind": "insurance", "amount": "990.00", "due_on": None, "created_at": "2025-12-01T09:00Z"}
    PotBillFactory(member=car.keeper, car=car, **quote)
    CostEntryFactory(car=car, category="insurance", amount="50.00", paid_on="2026-01-03")
    assert told(car, "Insurance") == [(date(2026, 5, 2), 990_00, Source.QUOTE)]


def test_a_half_yearly_tax_to_the_end_of_february_falls_due_again_at_the_end_of_august(car: Car) -> None:
    DueItemFactory(car=car, kind="vehicle_tax", due_on="2026-08-31")
    half = {"paid_on": "2026-03-01", "covers_from": "2026-03-01", "covers_to": "2026-08-31"}
    CostEntryFactory(car=car, category="vehicle_tax", amount="107.25", **half)
    assert [on for on, *_ in told(car, "Vehicle tax")] == [date(2026, 8, 31), date(2027, 2, 28)]


def test_nobody_elses_price_counts(car: Car, colleague_car: Car, colleague: object) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    CostEntryFactory(car=colleague_car, category="insurance", amount="700.00")
    CostEntryFactory(car=car, member=colleague, category="insurance", amount="710.00")
    assert told(car, "Insurance") == []
    assert lacking(car)["Insurance"] is Lacks.PRICE


def test_what_is_overdue_is_counted_today(car: Car) -> None:
    insure(car, date(2026, 3, 1))
    [bill] = bills_for(car, "Insurance")
    assert (bill.on, bill.was_due_on) == (TODAY, date(2026, 3, 1))


def test_an_mot_is_booked_or_by_rule(car: Car) -> None:
    CostEntryFactory(car=car, category="mot", amount="54.85", paid_on="2025-09-22")
    DueItemFactory(car=car, kind="mot", due_on="2026-04-03", booked_for="2026-03-30")
    [bill] = bills_for(car, "MOT")
    assert (bill.on, bill.day) == (date(2026, 3, 30), DayFrom.BOOKED)


def test_a_credential_is_known_by_a_quote_alone(car: Car) -> None:
    car.keeper.due_items.update(due_on="2026-08-31")
    assert lacking(car)["ADI registration"] is Lacks.PRICE
    PotBillFactory(member=car.keeper, kind="adi_registration", amount="300.00", due_on=None)
    assert told(car, "ADI registration") == [(date(2026, 8, 31), 300_00, Source.QUOTE)]


def test_the_inspection_of_the_dual_controls_has_a_price_of_its_own(car: Car) -> None:
    DueItemFactory(car=car, kind="service", due_on="2026-06-01")
    controls = DueItemFactory(car=car, kind="dual_controls", due_on="2026-07-01")
    CostEntryFactory(car=car, category="servicing", amount="210.00", paid_on="2025-06-01")
    assert lacking(car)["Dual controls inspection"] is Lacks.PRICE
    paid = CostEntryFactory(car=car, category="servicing", amount="45.00", paid_on="2025-07-01")
    CompletionFactory(due_item=controls, done_on="2025-07-01", cost_ref=paid.ref)
    assert told(car, "Service") == [(date(2026, 6, 1), 210_00, Source.LAST_PRICE)]
    assert told(car, "Dual controls inspection") == [(date(2026, 7, 1), 45_00, Source.LAST_PRICE)]


# --- By forecast ------------------------------------------------------------------------------------------


def drive(car: Car) -> None:
    """A hundred miles a day for 90 days, 50,000 on 14 March 2026."""
    OdometerReadingFactory(car=car, read_on="2025-12-14", miles=41_000)
    OdometerReadingFactory(car=car, read_on="2026-03-14", miles=50_000)


def test_a_service_by_miles_is_forecast_and_comes_again(car: Car) -> None:
    drive(car)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=55_000, every_months=12, every_miles=15_000)
    CostEntryFactory(car=car, category="servicing", amount="210.00", paid_on="2025-06-01")
    found = bills_for(car, "Service")
    assert [(bill.on, bill.day) for bill in found] == [
        (date(2026, 5, 3), DayFrom.MILES),
        (date(2026, 9, 30), DayFrom.MILES),
        (date(2027, 2, 27), DayFrom.MILES),
    ]


def test_tyres_fall_due_as_their_tread_foretells(car: Car) -> None:
    drive(car)
    for read_on, depth in (("2025-12-14", "6.0"), ("2026-03-14", "4.5")):
        TreadReadingFactory(car=car, read_on=read_on, inner=depth, centre=depth, outer=depth)
    CostEntryFactory(car=car, category="tyres", amount="310.00", paid_on="2025-12-01", covers_miles=25_000)
    # 1.5 mm in 9,000 miles: another 9,000 to 3.0 mm, 90 days; and 25,000 miles after that is 250 days on.
    found = bills_for(car, "Tyres")
    assert [(bill.on, bill.day, bill.pence) for bill in found] == [
        (date(2026, 6, 12), DayFrom.TREAD, 310_00),
        (date(2027, 2, 17), DayFrom.MILES, 310_00),
    ]


def test_worn_tyres_are_counted_today(car: Car) -> None:
    TreadReadingFactory(car=car, read_on="2026-03-14", inner="2.8", centre="2.8", outer="2.8")
    CostEntryFactory(car=car, category="tyres", amount="310.00", paid_on="2024-12-01")
    assert [bill.on for bill in bills_for(car, "Tyres")] == [TODAY]


def test_a_set_that_was_paid_for_and_not_fitted_is_not_forecast(everyone: dict[str, Client], car: Car) -> None:
    drive(car)
    for read_on, depth in (("2025-12-14", "6.0"), ("2026-02-14", "4.5")):
        TreadReadingFactory(car=car, read_on=read_on, inner=depth, centre=depth, outer=depth)
    CostEntryFactory(car=car, category="tyres", amount="310.00", paid_on="2026-03-01")
    assert bills_for(car, "Tyres") == []
    page = shown(everyone["keeper"], POT)
    words = "Tyres You paid for tyres on 1 March 2026, and the book does not have them as fitted"
    assert f"{words} Enter the set as fitted" in page
    html = everyone["keeper"].get(POT).content.decode()
    assert f'href="{reverse("fleet:tyres-replaced", args=[car.registration])}">Enter the set as fitted' in html
    # A day that is recorded for them stands; once they are in the book, nothing more is asked.
    item = DueItemFactory(car=car, kind="tyres", due_on="2026-10-01")
    assert told(car, "Tyres") == [(date(2026, 10, 1), 310_00, Source.LAST_PRICE)]
    item.delete()
    for wheel in ("front_left", "front_right", "rear_left", "rear_right"):
        TyreMoveFactory(car=car, moved_on="2026-02-27", wheel=wheel)
    assert lacking(car)["Tyres"] is Lacks.DAY


def test_without_a_forecast_they_are_not_known(car: Car) -> None:
    assert {"Service", "Tyres"} <= {title for title, lacks in lacking(car).items() if lacks is Lacks.DAY}
    DueItemFactory(car=car, kind="tyres", due_on="2026-10-01")
    assert lacking(car)["Tyres"] is Lacks.PRICE


# --- Quotes and typed bills -------------------------------------------------------------------------------


def test_a_quote_takes_the_place_of_the_last_price(car: Car, colleague_car: Car) -> None:
    insure(car)
    PotBillFactory(member=colleague_car.keeper, kind="insurance", amount="1.00", due_on=None)
    quote = PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="905.50", due_on=None)
    assert told(car, "Insurance") == [(date(2026, 5, 2), 905_50, Source.QUOTE)]
    quote.voided_at = "2026-03-16T09:00Z"
    quote.save()
    assert told(car, "Insurance") == [(date(2026, 5, 2), 840_00, Source.LAST_PRICE)]


def test_a_quote_is_spent_once_its_day_has_passed_or_it_was_paid(car: Car) -> None:
    insure(car)
    PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="905.50", due_on="2026-03-01")
    PotBillFactory(
        member=car.keeper, car=car, kind="insurance", amount="906.50", due_on=None, created_at="2025-05-01T09:00Z"
    )
    assert told(car, "Insurance") == [(date(2026, 5, 2), 840_00, Source.LAST_PRICE)]


def test_a_cars_own_quote_goes_before_one_for_all_cars(car: Car, colleague_car: Car) -> None:
    colleague_car.keeper = car.keeper
    colleague_car.save()
    for one in (car, colleague_car):
        DueItemFactory(car=one, kind="vehicle_tax", due_on="2026-06-30")
    all_cars = {"member": car.keeper, "kind": "vehicle_tax", "due_on": None}
    PotBillFactory(**all_cars, amount="0.00")
    own = PotBillFactory(**all_cars, car=car, amount="195.00")
    assert told(car, "Vehicle tax") == [(date(2026, 6, 30), 195_00, Source.QUOTE)]
    PotBillFactory(**all_cars, car=colleague_car, amount="180.00")
    # Each has its own, so that for all cars stands for none and is no bill besides.
    assert {pence for _, pence, _ in told(car, "Vehicle tax")} == {195_00, 180_00}
    assert "Vehicle tax" not in lacking(car)
    # Once a car's own is paid, that for all cars is the newer one.
    own.created_at = "2025-05-01T09:00Z"
    own.save()
    CostEntryFactory(car=car, category="vehicle_tax", amount="190.00", paid_on="2025-07-01")
    assert {pence for _, pence, _ in told(car, "Vehicle tax")} == {180_00}


def test_of_several_quotes_the_newest_counts_and_the_list_says_so(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    quote = {"member": car.keeper, "car": car, "kind": "insurance"}
    PotBillFactory(**quote, amount="1010.00", due_on="2026-06-20")
    PotBillFactory(**quote, amount="990.00", due_on="2026-05-20")
    PotBillFactory(**quote, amount="1100.00", due_on="2027-05-20")
    PotBillFactory(**quote, amount="905.50", due_on=None, created_at="2025-05-01T09:00Z")
    assert told(car, "Insurance") == [(date(2026, 5, 20), 990_00, Source.QUOTE)]
    page = shown(everyone["keeper"], POT)
    assert "20 June 2026, QA51 ABC; does not count: your newer quote of £990.00 does £1,010.00" in page
    assert "20 May 2026, QA51 ABC; this one counts £990.00" in page
    assert "20 May 2027, after these 12 months, QA51 ABC £1,100.00" in page
    assert "Insurance QA51 ABC; does not count: paid since £905.50" in page
    RepeatFactory(car=car, category="insurance", amount="70.00", starts_on="2025-06-03", made_until="2026-03-03")
    page = shown(everyone["keeper"], POT)
    assert "20 June 2026, QA51 ABC; does not count: what repeats pays for it" in page
    assert "20 May 2026, QA51 ABC; does not count: what repeats pays for it" in page


def test_a_quote_that_is_in_the_book_no_other_way_counts_once(everyone: dict[str, Client], keeper: Member) -> None:
    for amount in ("62.00", "64.00"):
        PotBillFactory(member=keeper, kind="breakdown_cover", amount=amount, due_on="2026-04-21")
    assert [bill.pence for bill in pot_report(keeper, TODAY).bills.known] == [64_00]
    page = shown(everyone["keeper"], POT)
    assert "21 April 2026; does not count: your newer quote of £64.00 does" in page
    assert "21 April 2026; this one counts" in page


def test_a_quote_for_all_cars_says_for_which_it_does_not_count(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    quote = {"member": car.keeper, "kind": "breakdown_cover", "due_on": "2026-04-21"}
    PotBillFactory(**quote, amount="80.00")
    PotBillFactory(**quote, amount="70.00", car=car)
    page = shown(everyone["keeper"], POT)
    assert "21 April 2026; does not count: your quote of £70.00 for QA51 ABC does £80.00" in page
    assert "21 April 2026, QA51 ABC; this one counts £70.00" in page
    colleague_car.keeper = car.keeper
    colleague_car.save()
    # Of a car of which the book knows none, it counts too.
    assert {pence for _, pence, _ in told(car, "Breakdown cover")} == {70_00, 80_00}
    assert "21 April 2026; does not count for QA51 ABC: its own quote does £80.00" in shown(everyone["keeper"], POT)
    RepeatFactory(car=colleague_car, category="breakdown_cover", starts_on="2025-05-01", made_until="2026-03-01")
    assert "21 April 2026; does not count for any of your cars £80.00" in shown(everyone["keeper"], POT)
    PotBillFactory(**quote, amount="75.00", car=colleague_car)
    Repeat.objects.all().delete()
    assert "21 April 2026; does not count: each of your cars has a quote of its own" in shown(everyone["keeper"], POT)


def test_a_quote_with_a_day_says_when(car: Car) -> None:
    PotBillFactory(member=car.keeper, kind="service", amount="230.00", due_on="2026-04-20")
    PotBillFactory(member=car.keeper, kind="breakdown_cover", amount="62.00", due_on="2026-04-21")
    PotBillFactory(member=car.keeper, car=car, kind="dual_controls", amount="48.00", due_on=None)
    PotBillFactory(member=car.keeper, kind="pdi_licence", amount="140.00", due_on="2027-04-21")
    assert told(car, "Service") == [(date(2026, 4, 20), 230_00, Source.QUOTE)]
    assert told(car, "Breakdown cover") == [(date(2026, 4, 21), 62_00, Source.QUOTE)]
    assert lacking(car)["Dual controls inspection"] is Lacks.DAY
    assert told(car, "PDI licence") == []


def test_a_quote_without_a_day_that_the_book_lacks_too_asks_for_it(everyone: dict[str, Client], car: Car) -> None:
    quote = PotBillFactory(member=car.keeper, car=car, kind="service", amount="230.00", due_on=None)
    other = PotBillFactory(member=car.keeper, car=car, kind="dual_controls", amount="48.00", due_on=None)
    insure(car)
    PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="905.50", due_on=None)
    quotes = {one.title: one.quote for one in report_of(car).bills.not_known}
    assert quotes == {
        "Dual controls inspection": other.pk,
        "Service": quote.pk,
        **dict.fromkeys(("MOT", "Tyres", "Vehicle tax")),
    }
    html = everyone["keeper"].get(POT).content.decode()
    assert html.count("Give the day") == 2
    assert f'href="{reverse("costing:pot-bill-correct", args=[quote.pk])}">Give the day' in html
    page = shown(everyone["keeper"], POT)
    assert "Service Your quote has no day, and the book has none Give the day" in page
    assert "Service its day is not known, QA51 ABC £230.00" in page
    assert "Insurance on the day in the book, QA51 ABC £905.50" in page
    assert "Tyres The book has no day for it Enter a quote" in page


def test_a_quote_of_nothing_needs_no_day(everyone: dict[str, Client], car: Car) -> None:
    PotBillFactory(member=car.keeper, car=car, kind="service", amount="0.00", due_on=None)
    assert "Service nothing to pay, QA51 ABC £0.00" in shown(everyone["keeper"], POT)


def test_a_quote_of_nothing_is_proposed_only_for_what_a_rental_may_include(
    everyone: dict[str, Client], car: Car
) -> None:
    car.keeper.due_items.all().delete()
    DueItemFactory.create(car=car, kind="other", note="Sign for the roof", due_on="2026-06-01")
    assert "If your rental includes" not in shown(everyone["keeper"], POT), "it is on no rental"
    held = AgreementFactory(car=car, starts_on="2026-01-08")
    assert "If your rental includes" not in shown(everyone["keeper"], POT), "it is on hire purchase"
    held.delete()
    HireFactory(car=car, starts_on="2026-04-08")
    assert "If your rental includes" not in shown(everyone["keeper"], POT), "the hire is to come"
    HireFactory(car=car, starts_on="2026-01-08", payments=24)
    page = shown(everyone["keeper"], POT)
    assert "ADI registration The book has no day for it" in page
    assert "If your rental includes any of the car’s bills, enter a quote of £0 for it." in page
    for kind in ("insurance", "mot", "vehicle_tax"):
        PotBillFactory(member=car.keeper, car=car, kind=kind, amount="0.00", due_on=None)
    page = shown(everyone["keeper"], POT)
    assert "If your rental includes the service or the tyres, enter a quote of £0." in page
    for kind in ("service", "tyres"):
        PotBillFactory(member=car.keeper, car=car, kind=kind, amount="0.00", due_on=None)
    assert "If your rental includes" not in shown(everyone["keeper"], POT)


def test_without_a_price_the_day_is_told_as_it_is_known(everyone: dict[str, Client], car: Car) -> None:
    drive(car)
    TreadReadingFactory(car=car, read_on="2026-03-14", inner="2.8", centre="2.8", outer="2.8")
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=55_000)
    DueItemFactory(car=car, kind="insurance", due_on="2026-03-01")
    DueItemFactory(car=car, kind="mot", due_on="2026-08-01")
    page = shown(everyone["keeper"], POT)
    assert "Tyres Due now by the tread readings, and its price is not known" in page
    assert "Insurance Was due on 1 March 2026, and its price is not known" in page
    assert "Service 3 May 2026; by forecast, from the odometer; its price is not known" in page
    assert "MOT 1 August 2026; its price is not known" in page


def test_a_quote_of_nothing_says_that_nothing_is_to_be_paid(car: Car) -> None:
    PotBillFactory(member=car.keeper, car=car, kind="service", amount="0.00", due_on=None)
    assert "Service" not in lacking(car)
    assert told(car, "Service") == []


def test_typed_bills_fall_on_their_day_or_every_year(car: Car) -> None:
    PotBillFactory(member=car.keeper, due_on="2026-01-31")
    PotBillFactory(member=car.keeper, due_on="2025-07-31", is_yearly=True, amount="600.00")
    PotBillFactory(member=car.keeper, car=car, kind="other", words="Sign for the roof", amount="45.00")
    assert told(car, "Tax bill") == [(date(2026, 7, 31), 600_00, Source.TYPED)]
    [sign] = bills_for(car, "Sign for the roof")
    assert (sign.of, sign.category) == (car.registration, "other")


# --- What is paid again and again -------------------------------------------------------------------------


def test_what_repeats_is_not_counted_twice_with_the_renewal(car: Car) -> None:
    insure(car)
    RepeatFactory(car=car, category="insurance", amount="70.00", starts_on="2025-06-03", made_until="2026-03-03")
    found = told(car, "Insurance")
    assert {source for *_, source in found} == {Source.REPEAT}
    assert (found[0], len(found)) == ((date(2026, 4, 3), 70_00, Source.REPEAT), 12)


def test_a_renewal_goes_on_in_the_parts_in_which_the_last_cover_was_paid(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    RepeatFactory(
        car=car,
        category="insurance",
        amount="42.10",
        starts_on="2025-06-20",
        payments=10,
        made_until="2026-02-20",
    )
    # The tenth is still to come; the next ten begin a year after the first, and the last of them a day too late.
    assert told(car, "Insurance") == [
        (date(2026, 3, 20), 42_10, Source.REPEAT),
        *((date(2026, month, 20), 42_10, Source.MONTHLY) for month in range(6, 13)),
        *((date(2027, month, 20), 42_10, Source.MONTHLY) for month in (1, 2)),
    ]
    assert "20 June 2026; monthly, as last year" in shown(everyone["keeper"], POT)
    # A deposit that was paid by hand comes again too.
    paid = {"paid_on": "2025-05-03", "covers_from": "2025-05-03", "covers_to": "2026-05-02"}
    CostEntryFactory(car=car, category="insurance", amount="150.00", **paid)
    assert told(car, "Insurance")[1:3] == [
        (date(2026, 5, 2), 150_00, Source.LAST_PRICE),
        (date(2026, 6, 20), 42_10, Source.MONTHLY),
    ]
    PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="905.50", due_on=None)
    assert told(car, "Insurance")[1:] == [(date(2026, 5, 2), 905_50, Source.QUOTE)]


def test_what_a_repeat_took_of_what_was_logged_by_hand_is_counted_once(everyone: dict[str, Client], car: Car) -> None:
    """Worked by hand: £100 at once and ten times £45 a month later each come to £550, and so will the next."""
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    insurance = {"car": car, "category": "insurance"}
    CostEntryFactory(
        **insurance, amount="100.00", paid_on="2025-04-30", covers_from="2025-05-03", covers_to="2026-05-02"
    )
    months = [add_months(date(2025, 6, 3), number) for number in range(10)]
    RepeatFactory(**insurance, amount="45.00", starts_on=months[0], payments=10, made_until=months[-1])
    for number, on in enumerate(months):
        CostEntryFactory(**insurance, amount="45.00", paid_on=on + timedelta(days=number % 3 - 1))
    found = told(car, "Insurance")
    assert found[0] == (date(2026, 5, 2), 100_00, Source.LAST_PRICE)
    assert {source for _, _, source in found[1:]} == {Source.MONTHLY}
    assert sum(pence for _, pence, _ in found) == 550_00
    assert "2 May 2026; last price, 30 April 2025 £100.00" in shown(everyone["keeper"], POT)
    # An entry that no due day takes is a fee for a change.
    CostEntryFactory(**insurance, amount="45.00", paid_on="2025-07-20")
    assert told(car, "Insurance")[0] == (date(2026, 5, 2), 145_00, Source.LAST_PRICE)


def test_what_follows_a_cancelled_policy_is_a_term_of_its_own(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-14")
    insurance = {"car": car, "category": "insurance"}
    cancelled = {"covers_from": "2025-05-03", "covers_to": "2026-05-02", "ended_on": "2025-08-14"}
    CostEntryFactory(**insurance, amount="600.00", paid_on="2025-05-03", **cancelled)
    CostEntryFactory(**insurance, amount="-400.00", paid_on="2025-08-20")
    CostEntryFactory(
        **insurance, amount="500.00", paid_on="2025-08-15", covers_from="2025-08-15", covers_to="2026-05-14"
    )
    assert [pence for _, pence, _ in told(car, "Insurance")] == [500_00, 500_00]
    assert "14 May 2026; last price, 15 August 2025, for nine months" in shown(everyone["keeper"], POT)
    PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="905.50", due_on=None)
    assert "14 May 2026; your quote, for nine months as last time" in shown(everyone["keeper"], POT)


def test_what_was_refunded_in_full_is_no_price(car: Car) -> None:
    insure(car)
    again = {"paid_on": "2025-05-05", "covers_from": "2025-05-03", "covers_to": "2026-05-02"}
    CostEntryFactory(car=car, category="insurance", amount="-840.00", paid_on="2025-05-04")
    assert lacking(car)["Insurance"] is Lacks.PRICE
    CostEntryFactory(car=car, category="insurance", amount="640.00", **again)
    assert told(car, "Insurance") == [(date(2026, 5, 2), 640_00, Source.LAST_PRICE)]


def test_a_second_payment_of_the_same_thing_is_not_its_price(everyone: dict[str, Client], car: Car) -> None:
    for kind, on in (("mot", "2026-12-09"), ("service", "2026-12-10")):
        DueItemFactory(car=car, kind=kind, due_on=on)
    for category, amount, paid_on in (
        ("mot", "54.85", "2025-12-10"),
        ("mot", "20.00", "2025-12-15"),
        ("servicing", "90.00", "2025-12-10"),
        ("servicing", "30.00", "2025-12-12"),
        ("servicing", "70.00", "2025-11-14"),
    ):
        CostEntryFactory(car=car, category=category, amount=amount, paid_on=paid_on)
    page = shown(everyone["keeper"], POT)
    assert "MOT 9 December 2026; last price, 10 December 2025 £54.85" in page
    assert "Service 10 December 2026; last time £120.00 in two payments £120.00" in page


def test_a_cover_of_a_month_says_so(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="vehicle_tax", due_on="2026-03-31")
    cover = {"paid_on": "2026-03-01", "covers_from": "2026-03-01", "covers_to": "2026-03-31"}
    CostEntryFactory(car=car, category="vehicle_tax", amount="18.00", **cover)
    assert "31 March 2026; last price, 1 March 2026, for a month" in shown(everyone["keeper"], POT)


def test_what_was_stopped_before_its_first_payment_meets_no_renewal(car: Car) -> None:
    insure(car)
    parts = {"car": car, "category": "insurance", "amount": "95.40", "payments": 10}
    RepeatFactory(**parts, starts_on="2026-05-09", stopped_on="2026-03-16")
    assert told(car, "Insurance") == [(date(2026, 5, 2), 840_00, Source.LAST_PRICE)]
    PotBillFactory(member=car.keeper, car=car, kind="insurance", amount="990.00", due_on=None)
    assert told(car, "Insurance") == [(date(2026, 5, 2), 990_00, Source.QUOTE)]
    # One that was paid of late is not forgotten either.
    CostEntryFactory(car=car, category="finance", amount="189.00", paid_on="2026-02-20")
    RepeatFactory(**parts | {"category": "finance"}, starts_on="2026-04-09", stopped_on="2026-03-16")
    assert lacking(car)["Finance instalment"] is Lacks.AGREEMENT


def test_what_begins_long_after_a_renewal_does_not_meet_it(car: Car) -> None:
    insure(car)
    repeat = RepeatFactory(car=car, category="insurance", amount="95.40", starts_on="2026-06-03")
    assert (date(2026, 5, 2), 840_00, Source.LAST_PRICE) in told(car, "Insurance")
    repeat.starts_on = date(2026, 6, 2)
    repeat.save()
    assert {source for *_, source in told(car, "Insurance")} == {Source.REPEAT}


def test_a_last_payment_soon_after_the_renewal_is_not_the_renewals(car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    parts = {"category": "insurance", "amount": "91.25", "starts_on": "2025-06-03", "payments": 12}
    RepeatFactory(car=car, **parts, made_until="2026-03-03")
    found = told(car, "Insurance")
    assert [(on, source) for on, _, source in found[:3]] == [
        (date(2026, 4, 3), Source.REPEAT),
        (date(2026, 5, 3), Source.REPEAT),
        (date(2026, 6, 3), Source.MONTHLY),
    ]
    assert len(found) == 12


def test_payments_that_ended_long_before_the_renewal_tell_what_it_comes_to(
    everyone: dict[str, Client], car: Car
) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-02")
    parts = {"category": "insurance", "amount": "42.10", "starts_on": "2025-04-03", "payments": 10}
    RepeatFactory(car=car, **parts, made_until="2026-01-03")
    assert told(car, "Insurance") == [(date(2026, 5, 2), 421_00, Source.LAST_PAYMENTS)]
    assert "what the last year’s payments came to, if paid at once" in shown(everyone["keeper"], POT)


def test_an_agreement_is_paid_by_its_repeat_alone(car: Car) -> None:
    agreement = AgreementFactory(car=car, starts_on="2025-01-08")
    by_agreement = bills_for(car, "Finance instalment")
    assert [(bill.number, bill.out_of) for bill in by_agreement] == [(number, 36) for number in range(15, 27)]
    assert (by_agreement[0].on, by_agreement[0].pence) == (date(2026, 4, 8), 318_75)
    RepeatFactory(
        car=car,
        category="finance",
        agreement=agreement,
        amount="318.75",
        starts_on="2025-01-08",
        payments=36,
        in_arrears=True,
        made_until="2026-03-08",
    )
    assert bills_for(car, "Finance instalment") == by_agreement


def test_a_hire_rolls_on_past_its_term_and_the_repeat_that_paid_it(car: Car) -> None:
    hire = {"kind": "weekly_rental", "payment": "150.00", "payments": 10, "frequency": "week", "price": None}
    agreement = AgreementFactory(car=car, starts_on="2026-01-19", deposit=None, **hire)
    RepeatFactory(
        car=car,
        category="rental",
        agreement=agreement,
        amount="150.00",
        interval="week",
        starts_on="2026-01-19",
        payments=10,
        in_arrears=True,
        made_until="2026-03-16",
    )
    found = bills_for(car, "Rental payment")
    assert [(bill.on, bill.source) for bill in found[:3]] == [
        (date(2026, 3, 23), Source.INSTALMENT),
        (date(2026, 3, 30), Source.INSTALMENT),
        (date(2026, 4, 6), Source.ROLLS),
    ]
    assert found[-1].on == date(2027, 3, 15)
    assert not any(bill.pauses for bill in found)
    PotPlanFactory(member=car.keeper, hire_pauses=True)
    assert all(bill.pauses for bill in bills_for(car, "Rental payment"))


@pytest.mark.parametrize("logged", [0, 1, 13, 14])
def test_instalments_that_are_not_in_the_book_are_named_and_taken_as_paid(
    everyone: dict[str, Client], car: Car, logged: int
) -> None:
    AgreementFactory(car=car, starts_on="2025-01-08", payments=24)
    log(car, *IN_ADVANCE[1 : logged + 1])
    words = {
        0: "instalment 15 of 24; none of the 14 before it is in the book: log them, or ask the lender £",
        1: "instalment 15 of 24; 1 of 14 is in the book: log the rest, or ask the lender £",
        13: "instalment 15 of 24; 13 of 14 are in the book: log the rest, or ask the lender £",
        14: "instalment 15 of 24 £",
    }
    page = shown(everyone["keeper"], POT)
    assert words[logged] in page
    assert "instalment 16 of 24 £" in page


def test_a_repeat_of_an_agreement_says_so_too(everyone: dict[str, Client], car: Car) -> None:
    hire = {"kind": "contract_hire", "payment": "318.75", "payments": 24, "price": None}
    agreement = AgreementFactory(car=car, starts_on="2026-02-08", deposit=None, **hire)
    terms = {"category": "rental", "amount": "318.75", "starts_on": "2026-02-08", "payments": None}
    RepeatFactory(car=car, agreement=agreement, **terms, in_arrears=True, made_until="2026-03-08")
    words = "instalment 2 of 24; the one before it is not in the book: log it, or ask the hire company £"
    assert words in shown(everyone["keeper"], POT)


def log(car: Car, *days: str, **cost: object) -> None:
    """Log an instalment of finance on each of these days."""
    for paid_on in days:
        CostEntryFactory(car=car, **{"category": "finance", "amount": "318.75", "paid_on": paid_on} | cost)


#: Fifteen months from the day on which an agreement of 8 January 2025 begins; by its terms fourteen are due.
IN_ADVANCE = [*(f"2025-{month:02}-08" for month in range(1, 13)), *(f"2026-{month:02}-08" for month in (1, 2, 3))]


def test_what_was_paid_in_advance_is_not_asked_again(car: Car, colleague: Member) -> None:
    AgreementFactory(car=car, starts_on="2025-01-08", payments=24, fees="10.00", final_payment="500.00")
    log(car, IN_ADVANCE[0], amount="328.75")
    log(car, *IN_ADVANCE[1:])
    # Before it began; extra miles; the deposit; refunded; voided; and somebody else's.
    log(car, "2025-01-07")
    for amount in ("64.10", "1800.00", "-318.75"):
        log(car, "2026-01-09", amount=amount)
    log(car, "2026-01-09", voided_at="2026-02-01T09:00Z")
    log(car, "2026-01-09", member=colleague)
    found = bills_for(car, "Finance instalment")
    assert [(bill.on, bill.number) for bill in found[:2]] == [(date(2026, 4, 8), 16), (date(2026, 5, 8), 17)]
    assert [(bill.on, bill.number, bill.pence) for bill in found[-2:]] == [
        (date(2026, 12, 8), 24, 318_75),
        (date(2027, 1, 8), 24, 500_00),
    ]


def test_the_next_keepers_agreement_ends_no_count_of_ones_own_instalments(car: Car, colleague: Member) -> None:
    AgreementFactory(car=car, starts_on="2025-01-08")
    log(car, *(f"2025-{month:02}-08" for month in range(2, 13)), *("2026-01-08", "2026-02-08", "2026-03-08"))
    log(car, "2026-03-10")
    numbers = [bill.number for bill in bills_for(car, "Finance instalment")]
    AgreementFactory(car=car, member=colleague, starts_on="2026-03-09")
    assert [bill.number for bill in bills_for(car, "Finance instalment")] == numbers


def test_of_a_hire_paid_in_advance_a_deposit_of_the_same_sum_is_no_instalment(car: Car) -> None:
    hire = {"kind": "contract_hire", "payment": "318.75", "payments": 24, "price": None}
    AgreementFactory(car=car, starts_on="2025-01-08", deposit="318.75", **hire)
    AgreementFactory(car=car, starts_on="2027-06-08", deposit=None, **hire)
    log(car, "2025-01-08", *IN_ADVANCE, category="rental")
    found = bills_for(car, "Rental payment")
    assert [(bill.on, bill.number) for bill in found[:2]] == [(date(2026, 4, 8), 16), (date(2026, 5, 8), 17)]
    assert [(bill.on, bill.source) for bill in found[8:10]] == [
        (date(2026, 12, 8), Source.INSTALMENT),
        (date(2027, 1, 8), Source.ROLLS),
    ]
    assert len(found) == 12


def test_an_instalment_paid_some_days_early_is_paid(car: Car) -> None:
    AgreementFactory(car=car, starts_on="2025-01-18")
    log(car, "2026-03-15")
    [found, *_] = bills_for(car, "Finance instalment")
    assert (found.on, found.number) == (date(2026, 4, 18), 15)


def test_what_a_repeat_pays_in_advance_is_not_asked_again_at_its_end(car: Car) -> None:
    AgreementFactory(car=car, starts_on="2025-01-08", payments=24)
    terms = {"category": "finance", "amount": "318.75", "starts_on": "2025-01-08", "payments": 24}
    repeat = RepeatFactory(car=car, **terms, made_until="2026-03-08")
    log(car, *IN_ADVANCE, repeat=repeat)
    assert [(bill.on.month, bill.number) for bill in bills_for(car, "Finance instalment")] == [
        (number - 12, number) for number in range(16, 25)
    ]


def test_what_was_paid_by_hand_before_a_repeat_counts_too(car: Car) -> None:
    agreement = AgreementFactory(car=car, starts_on="2025-01-08", payments=24)
    terms = {"category": "finance", "amount": "318.75", "starts_on": "2025-01-08", "payments": 24}
    made = RepeatFactory(car=car, agreement=agreement, **terms, in_arrears=True, made_until="2026-03-08")
    log(car, IN_ADVANCE[0])
    log(car, *IN_ADVANCE[1:], repeat=made)
    found = bills_for(car, "Finance instalment")
    assert [(bill.on.month, bill.number) for bill in found] == [(number - 12, number) for number in range(16, 25)]


@pytest.mark.parametrize("brings_final_payment", [True, False])
def test_a_repeat_entered_by_hand_leaves_the_choice_at_the_end(
    everyone: dict[str, Client], car: Car, brings_final_payment: bool
) -> None:
    pcp = {"kind": "pcp", "payment": "189.00", "payments": 26, "final_payment": "5400.00"}
    AgreementFactory(car=car, starts_on="2024-07-08", **pcp)
    final = {"final_payment": "5400.00"} if brings_final_payment else {}
    terms = {"category": "finance", "amount": "189.00", "starts_on": "2024-08-08", "payments": 26}
    RepeatFactory(car=car, **terms, **final, made_until="2026-03-08")
    found = bills_for(car, "Finance instalment")
    assert [(bill.on, bill.pence, bill.may_go_back) for bill in found[-2:]] == [
        (date(2026, 9, 8), 5_400_00, True),
        (date(2026, 9, 8), 189_00, False),
    ]
    assert sum(bill.pence for bill in found) == 6 * 189_00 + 5_400_00
    assert "you have not said whether you keep the car" in shown(everyone["keeper"], POT)
    PotPlanFactory(member=car.keeper, keeps_car=False)
    assert sum(bill.pence for bill in bills_for(car, "Finance instalment")) == 6 * 189_00


def test_a_hire_paid_by_a_repeat_entered_by_hand_pauses_too(car: Car) -> None:
    hire = {"kind": "weekly_rental", "payment": "150.00", "payments": 10, "frequency": "week", "price": None}
    AgreementFactory(car=car, starts_on="2026-01-19", deposit=None, **hire)
    RepeatFactory(car=car, category="rental", amount="150.00", interval="week", starts_on="2026-01-19")
    PotPlanFactory(member=car.keeper, hire_pauses=True)
    found = bills_for(car, "Rental payment")
    assert all(bill.pauses for bill in found)
    assert len(found) == 53


def test_a_hire_ends_with_the_next_agreement_whose_deposit_is_a_bill(car: Car) -> None:
    hire = {"kind": "contract_hire", "payment": "270.00", "payments": 24, "price": None}
    AgreementFactory(car=car, starts_on="2024-01-08", deposit=None, **hire)
    AgreementFactory(car=car, starts_on="2026-06-08", deposit="800.00", **hire)
    found = told(car, "Rental payment")
    assert [on for on, *_ in found[:4]] == [date(2026, 4, 8), date(2026, 5, 8), date(2026, 7, 8), date(2026, 8, 8)]
    assert told(car, "Initial rental") == [(date(2026, 6, 8), 800_00, Source.DEPOSIT)]


def test_an_agreement_without_its_terms_is_not_known(car: Car) -> None:
    AgreementFactory(car=car, payment=None)
    assert lacking(car)["Finance instalment"] is Lacks.TERMS


def test_what_lets_one_teach_is_not_forgotten_though_no_day_is_recorded(car: Car, keeper: Member) -> None:
    assert "ADI registration" not in lacking(car)
    keeper.due_items.all().delete()
    assert lacking(car)["ADI registration"] is Lacks.DAY


@pytest.mark.parametrize(("paid_on", "is_named"), [("2026-03-02", True), ("2025-12-02", False)])
def test_instalments_paid_without_an_agreement_are_not_forgotten(car: Car, paid_on: str, is_named: bool) -> None:
    CostEntryFactory.create(car=car, paid_on=paid_on, category="finance", amount="189.00")
    assert ("Finance instalment" in lacking(car)) is is_named
    RepeatFactory.create(car=car, member=car.keeper, category="finance")
    assert "Finance instalment" not in lacking(car)


def test_where_instalments_have_no_agreement_it_can_be_entered(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory.create(car=car, paid_on="2026-03-02", category="rental", amount="140.00")
    page = shown(everyone["keeper"], POT)
    assert "neither an agreement nor what repeats says what is still to come" in page
    assert "Enter the agreement" in page


def test_bills_for_a_car_end_with_its_service(car: Car) -> None:
    car.in_service_to = date(2026, 5, 1)
    car.save()
    insure(car)
    AgreementFactory(car=car, starts_on="2025-01-08")
    assert told(car, "Insurance") == []
    assert [bill.on for bill in bills_for(car, "Finance instalment")] == [date(2026, 4, 8)]


# --- The answer -------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("in_order")
def test_the_answer_says_how_much_and_what_it_leaves_out(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="100.00", weekly="10.00")
    # £512.40 in 19 weeks beyond the balance: £26.97.
    PotBillFactory(member=car.keeper)
    for kind in ("service", "tyres"):
        DueItemFactory(car=car, kind=kind, due_on="2026-10-01")
    page = shown(everyone["keeper"], POT)
    left_out = "without the service and the tyres, whose prices are not known."
    assert f"Put by £26.97 a week and every bill of the next 12 months is met, {left_out}" in page
    assert "£100.00 in the pot, as you said on 16 March 2026." in page
    assert "You put by £10.00 a week: you are £322.40 behind. With that much more in the pot today it would do." in page
    # Even shares: £612.40 over 52 weeks is £11.78; 19 of them and £388.58 make £612.40.
    assert "It is the bills up to 31 July that make it so much." in page
    assert "With £288.58 more in the pot today, £11.78 a week would do" in page
    assert line_of(car) == "£26.97 a week for the pot, without two bills not known: £322.40 behind"


def test_the_picture_says_what_its_dearest_months_are_dear_for(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    for kind, amount in (("tax_bill", "2027.00"), ("adi_registration", "16.50")):
        PotBillFactory(member=car.keeper, kind=kind, amount=amount, due_on="2026-07-31")
    CostEntryFactory(car=car, category="mot", amount="54.85", paid_on="2025-09-22")
    DueItemFactory(car=car, kind="mot", due_on="2027-03-01")
    page = pot_page(report_of(car))
    notes = {column.words: column.note for column in page.picture.columns if column.note}
    assert notes == {"16 July to 15 August": "tax bill", "16 April to 15 May": "insurance"}
    # A column is called by the month in which it begins, and every tone has a name.
    assert [column.letter for column in page.picture.columns] == list("MAMJJASONDJF")
    words = "named by the month in which it begins: the first is 16 March to 15 April."
    assert words in shown(everyone["keeper"], POT)
    html = everyone["keeper"].get(POT).content.decode()
    assert all(f">{name}</text>" in html for name in ("Insurance", "Else", "Tax, MOT"))
    assert pot_page(pot_report(car.keeper, date(2026, 4, 1))).columns == ""


def test_without_a_plan_it_does_not_answer_for_an_unknown_balance(everyone: dict[str, Client], car: Car) -> None:
    PotBillFactory(member=car.keeper)
    page = shown(everyone["keeper"], POT)
    assert "The bills of the next 12 months come to £612.40: £11.78 a week, without" in page
    assert "From an empty one it is £32.24 a week, because of the bills up to 31 July." in page
    assert "Least in the pot" not in page
    assert line_of(car) is None


def test_what_is_missing_now_comes_first(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="400.00")
    PotBillFactory(member=car.keeper, due_on="2026-03-20")
    page = shown(everyone["keeper"], POT)
    assert "£212.40 is missing for the bills up to Friday. Put that in, and every bill of the next 12 months" in page
    assert line_of(car) == "£0.00 a week for the pot, without five bills not known: £212.40 missing now"


def test_a_full_pot_is_enough(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="700.00", weekly="0.00", balance_on="2026-03-01")
    PotBillFactory(member=car.keeper)
    page = shown(everyone["keeper"], POT)
    assert "What is in the pot is enough: every bill of the next 12 months is met" in page
    assert "you are £87.60 ahead of what the bills need" in page
    assert "That is a while ago: say what is in it today." in page
    assert line_of(car) == "£0.00 a week for the pot, without five bills not known: £87.60 ahead"


@pytest.mark.usefixtures("in_order")
def test_just_on_course(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="612.40", weekly="0.00")
    PotBillFactory(member=car.keeper)
    for kind in ("service", "tyres"):
        DueItemFactory(car=car, kind=kind, due_on="2026-10-01")
    assert "You put by £0.00 a week: you are just on course." in shown(everyone["keeper"], POT)
    assert line_of(car) == "£0.00 a week for the pot, without two bills not known: on course"
    PotBillFactory(member=car.keeper, kind="service", amount="0.00", due_on=None)
    assert line_of(car) == "£0.00 a week for the pot, without one bill not known: on course"
    PotBillFactory(member=car.keeper, kind="tyres", amount="0.00", due_on=None)
    assert line_of(car) == "£0.00 a week for the pot: on course"


def test_the_line_without_a_weekly_sum_or_without_bills(car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="0.00")
    assert line_of(car) is None
    PotBillFactory(member=car.keeper)
    assert line_of(car) == "£32.24 a week for the pot, without five bills not known"


def test_it_asks_what_becomes_of_the_car_at_the_end(everyone: dict[str, Client], car: Car) -> None:
    pcp = {"kind": "pcp", "payment": "189.00", "payments": 26, "final_payment": "5400.00"}
    AgreementFactory(car=car, starts_on="2024-07-08", **pcp)
    plan = PotPlanFactory(member=car.keeper, balance="2000.00")
    page = shown(everyone["keeper"], POT)
    assert "The final payment of £5,400.00 on 8 September 2026 is counted, because you have not said whether" in page
    # By 8 September six instalments are due, and 25 weeks are over; £1,134 is in the pot already.
    assert "Put by £181.36 a week" in page
    assert "If it goes back, £0.00 a week is enough; what extra miles or damage may then cost is not counted." in page
    plan.keeps_car = False
    plan.save()
    page = shown(everyone["keeper"], POT)
    assert "What is in the pot is enough" in page
    assert "5,400.00" not in page
    plan.keeps_car = True
    plan.save()
    page = shown(everyone["keeper"], POT)
    assert "Put by £181.36 a week" in page
    assert "you have not said" not in page


def test_an_illness_and_holidays(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(
        member=car.keeper, balance="0.00", ill_weeks=6, holidays=[["2026-03-23", "2026-04-05"], ["2026-06-01"] * 2]
    )
    PotBillFactory(member=car.keeper)
    page = shown(everyone["keeper"], POT)
    # 19 weeks less two: £36.03, and 11p over; six weeks ill leave £216.07 unmet.
    assert "Put by £36.03 a week" in page
    assert "In 2 weeks of the 12 months you are on holiday" in page
    words = "If you are ill for six weeks, whenever that begins, £216.07 more in the pot today sees you through"
    assert f"{words}, at £36.03 in each of the other weeks." in page
    assert "Nothing is put by in that time, and every bill runs on." in page


def test_what_an_illness_takes_says_what_of_it_is_missing_already(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="100.00", ill_weeks=1)
    PotBillFactory(member=car.keeper, due_on="2026-03-20", amount="300.00")
    page = shown(everyone["keeper"], POT)
    words = "If you are ill for a week, whenever that begins, "
    assert f"{words}the £200.00 that is missing today sees you through. The worst" in page
    PotBillFactory(member=car.keeper, due_on="2026-05-25", amount="400.00")
    page = shown(everyone["keeper"], POT)
    assert "then £40.00 a week" in page
    assert f"{words}£240.00 in all, of which £200.00 is missing already today, sees you through, at £40.00" in page


def test_a_hire_that_pauses_is_named(everyone: dict[str, Client], car: Car) -> None:
    hire = {"kind": "weekly_rental", "payment": "150.00", "payments": 78, "frequency": "week", "price": None}
    AgreementFactory(car=car, starts_on="2026-01-19", deposit=None, **hire)
    PotPlanFactory(member=car.keeper, balance="300.00", ill_weeks=2, hire_pauses=True)
    page = shown(everyone["keeper"], POT)
    assert "Nothing is put by in that time, and only the hire pauses." in page


def test_what_is_in_the_pot_is_said_before_there_is_a_bill(everyone: dict[str, Client], keeper: Member) -> None:
    assert "Say what is in the pot" in shown(everyone["keeper"], POT)
    PotPlanFactory(member=keeper, balance="500.00")
    page = shown(everyone["keeper"], POT)
    assert "£500.00 in the pot, as you said on 16 March 2026." in page
    assert "Say what is in it now" in page


def test_an_empty_book_says_what_to_enter(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"], POT)
    assert "No bill is known yet" in page
    assert "The pot is worked out from what the book has" in page
    assert "Not known, so not counted" in page
    assert "You have no car in the book." in shown(everyone["stranger"], POT)


def test_each_bill_says_where_it_comes_from(everyone: dict[str, Client], car: Car) -> None:
    insure(car, date(2026, 3, 1))
    AgreementFactory(car=car, starts_on="2025-01-08")
    drive(car)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=55_000)
    CostEntryFactory(car=car, category="servicing", amount="210.00", paid_on="2025-06-01")
    page = shown(everyone["keeper"], POT)
    assert "16 March 2026; last price, 3 May 2025; was due on 1 March 2026" in page
    assert "8 April 2026; instalment 15 of 36" in page
    assert "3 May 2026; last price, 1 June 2025; by forecast, from the odometer" in page
    assert "Fuel and charging are not among the bills" in page


def test_repairs_are_not_among_the_bills_and_the_last_years_are_named(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    words = "Repairs come without notice, so they are not among the bills."
    CostEntryFactory(car=car, category="repairs", amount="900.00", paid_on="2025-03-16")
    CostEntryFactory(car=car, member=colleague, category="repairs", amount="70.00")
    page = shown(everyone["keeper"], POT)
    assert words in page
    assert "Yours came to" not in page
    CostEntryFactory(car=car, category="repairs", amount="412.00", paid_on="2025-03-17")
    CostEntryFactory(car=car, category="repairs", amount="-12.00", paid_on="2026-03-16")
    CostEntryFactory(car=car, category="repairs", amount="33.00", voided_at="2026-02-01T09:00Z")
    page = shown(everyone["keeper"], POT)
    assert f"{words} Yours came to £400.00 in the last 12 months: a sum to think of besides." in page


def test_the_least_of_a_month_is_the_least_of_any_of_its_days(everyone: dict[str, Client], car: Car) -> None:
    insure(car, date(2026, 6, 15))
    PotPlanFactory(member=car.keeper, balance="21.00", holidays=[["2026-03-20", "2026-04-20"]])
    report, in_pot, lowest = report_of(car), 2100, []
    for month in report.months:
        of_days = []
        for number in range(month.days.first.toordinal(), month.days.last.toordinal() + 1):
            on = date.fromordinal(number)
            in_pot -= sum(bill.pence for bill in month.bills if bill.on == on)
            of_days.append(in_pot)
            in_pot += report.smallest.weekly * (report.weeks.put_by(on + timedelta(days=1)) - report.weeks.put_by(on))
        lowest.append(min(of_days))
    assert [month.lowest for month in report.months] == lowest
    # £840 by 15 June with £21 in hand, in nine weeks: £91. Only the first is over before the holidays: £112 is there on
    # 16 April, when none was put by yet in that month, and the bill leaves nothing.
    assert lowest[:4] == [21_00, 112_00, 0, 0]
    assert "16 April to 15 May £0.00 £273.00 £112.00" in shown(everyone["keeper"], POT)


def test_nobody_sees_anybody_elses(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="417.31")
    PotBillFactory(member=car.keeper, amount="613.17")
    for who in ("colleague", "coordinator", "stranger"):
        page = shown(everyone[who], POT)
        assert "417.31" not in page
        assert "613.17" not in page


def test_the_queries_do_not_grow_with_the_cars(
    car: Car, colleague_car: Car, django_assert_max_num_queries: object
) -> None:
    PotPlanFactory(member=car.keeper, weekly="10.00")
    PotBillFactory(member=car.keeper)
    insure(car)
    colleague_car.keeper = car.keeper
    colleague_car.save()
    insure(colleague_car)
    for one in (car, colleague_car):
        DueItemFactory(car=one, kind="dual_controls", due_on="2026-07-01")
    with django_assert_max_num_queries(17):  # type: ignore[operator]
        pot_report(car.keeper, TODAY)
    assert report_of(car).total > Decimal(0)


def test_a_holiday_of_a_few_days_is_not_called_none(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="0.00", holidays=[["2026-06-01"] * 2])
    PotBillFactory(member=car.keeper)
    page = shown(everyone["keeper"], POT)
    assert "No holiday that you entered takes up a week of the 12 months: something is put by in every week." in page
    assert "No holiday is entered" not in page
