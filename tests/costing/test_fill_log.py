"""The page /fills/new/: fuel or charge bought, logged on a forecourt."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from costing.actions import correct_entry, log_fill
from costing.models import Fill
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import fill_data, input_value, new_ref, save, shown, text_of
from tests.factories import CarFactory, DueItemFactory, FillFactory, OdometerReadingFactory

FILL_LOG = reverse("costing:fill-log")

pytestmark = pytest.mark.usefixtures("today")


def test_a_fill_is_logged_and_leads_home(everyone: dict[str, Client], car: Car) -> None:
    response = save(everyone["keeper"], FILL_LOG, fill_data(car))
    assert (response.status_code, response.url) == (303, reverse("costing:home"))
    fill = Fill.objects.get()
    assert (fill.car, fill.member, fill.filled_on) == (car, car.keeper, date(2026, 3, 16))
    assert (fill.odometer, fill.quantity, fill.amount) == (48_210, Decimal("34.500"), Decimal("47.92"))
    assert (fill.unit, fill.brimmed, fill.gap_before) == ("litre", True, False)
    assert "Logged: Fill, £47.92" in shown(everyone["keeper"], reverse("costing:home"))


def test_the_same_fill_sent_twice_is_logged_once(everyone: dict[str, Client], car: Car) -> None:
    sent = fill_data(car)
    save(everyone["keeper"], FILL_LOG, sent)
    again = save(everyone["keeper"], FILL_LOG, sent | {"amount": "1.00"}, follow=True)
    assert "Already logged, nothing was added: Fill, £47.92" in text_of(again)
    assert Fill.objects.get().amount == Decimal("47.92")


def test_the_same_fill_sent_many_times_at_once_is_logged_once(transactional_db: None, car: Car) -> None:
    other = CarFactory(keeper=car.keeper)
    ref = new_ref()

    def tap(car: Car) -> tuple[int, bool]:
        try:
            fill, is_new = log_fill(
                by=car.keeper,
                car=car,
                ref=ref,
                filled_on=date(2026, 3, 16),
                odometer=48_210,
                quantity=Decimal("34.5"),
                unit="litre",
                amount=Decimal("47.92"),
            )
        finally:
            connection.close()
        return fill.pk, is_new

    # For two cars too: they share no lock, so that only the unique reference holds the second back.
    with ThreadPoolExecutor(6) as taps:
        answers = list(taps.map(tap, [car, other] * 3))
    assert sorted(is_new for _, is_new in answers) == [False] * 5 + [True]
    assert {pk for pk, _ in answers} == {Fill.objects.get().pk}


def test_what_is_sent_again_is_the_first_although_it_would_be_refused_by_now(db: None, car: Car) -> None:
    def send() -> tuple[Fill, bool]:
        figures = {"quantity": Decimal("34.5"), "unit": "litre", "amount": Decimal("47.92")}
        return log_fill(by=car.keeper, car=car, ref=ref, filled_on=date(2026, 3, 9), odometer=48_210, **figures)

    ref = new_ref()
    first, _ = send()
    correct_entry(by=car.keeper, entry=first, changes={"odometer": 48_000})
    FillFactory(car=car, filled_on=date(2026, 3, 10), odometer=48_100)
    assert send() == (first, False)
    assert first.history.count() == 2


def test_a_fill_is_logged_in_ten_statements(
    everyone: dict[str, Client], car: Car, django_assert_num_queries: Any
) -> None:
    """Besides beginning and ending the transaction: who is it, the cars, what is plausible, the lock, the write."""
    save(everyone["keeper"], FILL_LOG, fill_data(car, filled_on="2026-03-09", odometer="47800"))
    with django_assert_num_queries(2 + 10):
        everyone["keeper"].post(FILL_LOG, fill_data(car), headers={"Accept": "application/json"})
    assert Fill.objects.count() == 2


def test_a_reference_of_somebody_else_shows_nothing_of_theirs(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    sent = fill_data(car, amount="33.33")
    save(everyone["keeper"], FILL_LOG, sent)
    sent |= {"car": colleague_car.registration, "amount": "1.00"}
    response = everyone["colleague"].post(FILL_LOG, sent)
    assert response.status_code == 200
    assert "33.33" not in text_of(response)
    assert Fill.objects.get().member == car.keeper


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_logs_on_the_car_of_another(everyone: dict[str, Client], car: Car, who: str) -> None:
    CarFactory(keeper__email="spare@book.example")
    everyone[who].post(FILL_LOG, fill_data(car))
    assert not Fill.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].post(FILL_LOG, fill_data(car)).url.startswith(reverse("account_login"))
    assert not Fill.objects.exists()


def test_a_member_without_a_car_is_told_what_comes_first(everyone: dict[str, Client]) -> None:
    assert "You have no car in the book" in shown(everyone["stranger"], FILL_LOG)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("£45.20", "45.20"), (" 1,234.5 ", "1234.50"), ("£ 45", "45.00"), (".5", "0.50")],
)
def test_a_sum_may_be_typed_as_people_write_it(everyone: dict[str, Client], car: Car, typed: str, kept: str) -> None:
    save(everyone["keeper"], FILL_LOG, fill_data(car, amount=typed))
    assert Fill.objects.get().amount == Decimal(kept)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("amount", "45,2", "cannot be read: put a point before the decimals, as in 47.92."),
        ("amount", "12,34.50", "cannot be read"),
        ("amount", "45.205", "This has more than 2 decimal places."),
        ("amount", "-3", "This is less than £0: it must be between £0 and £99,999.99."),
        ("amount", "a lot", "cannot be read: write it like 47.92."),
        ("odometer", "48,21", "cannot be read: write it like 48,210."),
        ("quantity", "0", "This is less than 0.001"),
        ("quantity", "34.5001", "This has more than 3 decimal places."),
        ("odometer", "48210.5", "This is not a whole number."),
        ("odometer", "1e5", "cannot be read"),
        ("filled_on", "2026-03-17", "has not come yet"),
        ("filled_on", "0026-03-16", "Check the year"),
        ("filled_on", "soon", "Write the day like"),
        ("amount", "", "Fill this in"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], car: Car, field: str, typed: str, words: str
) -> None:
    sent = fill_data(car) | {field: typed}
    response = save(everyone["keeper"], FILL_LOG, sent)
    page = response.content.decode()
    assert response.status_code == 200
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert f'href="#id_{field}"' in page
    assert {name: input_value(page, name) for name in ("ref", "odometer", "quantity")} == {
        name: sent[name] for name in ("ref", "odometer", "quantity")
    }
    assert not Fill.objects.exists()


def test_an_odometer_that_would_fall_is_refused_naming_its_neighbour(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-03-02", odometer=48_300)
    response = save(everyone["keeper"], FILL_LOG, fill_data(car, odometer="48,210"))
    assert "On 2 March 2026 it showed 48,300 miles" in text_of(response)
    assert Fill.objects.count() == 1


def test_the_last_reading_stands_beside_the_odometer(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on="2026-03-05", miles=48_100)
    assert "48,100, 5 March" in shown(everyone["keeper"], FILL_LOG)


def test_the_last_reading_of_each_car_stands_there(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    other = CarFactory(registration="QB52XYZ", keeper=keeper)
    FillFactory(car=other, filled_on=date(2026, 3, 5), odometer=9_100)
    FillFactory(car=car, filled_on=date(2026, 3, 16), odometer=48_210)
    words = shown(everyone["keeper"], FILL_LOG)
    assert "QB52 XYZ 9,100, 5 March" in words
    assert f"{show(car.registration)} 48,210, today" in words


def test_a_fill_that_is_refused_is_shown_with_the_hint(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on=date(2026, 3, 5), odometer=48_100)
    for odometer in ("a lot", "47000"):
        page = save(everyone["keeper"], FILL_LOG, fill_data(car, odometer=odometer)).content.decode()
        assert "48,100, 5 March" in page
        assert re.search('aria-describedby="id_odometer_(error|question)"', page)


@pytest.mark.parametrize(
    ("fuel", "asked", "chosen", "kept"),
    [
        ("electric", "kWh", {}, "kwh"),
        ("plugin_hybrid", "Charge", {"unit": "kwh"}, "kwh"),
        ("diesel", "in litres", {}, "litre"),
    ],
)
def test_the_unit_follows_from_the_fuel_and_is_asked_of_a_plug_in_hybrid(
    everyone: dict[str, Client], car: Car, fuel: str, asked: str, chosen: dict[str, str], kept: str
) -> None:
    car.fuel = fuel
    car.save()
    assert asked in shown(everyone["keeper"], FILL_LOG)
    save(everyone["keeper"], FILL_LOG, fill_data(car, **chosen))
    assert Fill.objects.get().unit == kept
    title = "Charge" if kept == "kwh" else "Fill"
    assert f"Logged: {title}, £47.92" in shown(everyone["keeper"], reverse("costing:home"))


@pytest.mark.parametrize(
    ("fuels", "asked", "never"),
    [
        (["electric"], "Miles per kWh are worked out from one full charge to the next.", "tank"),
        (["petrol"], "Miles per gallon are worked out from one full tank to the next.", "charge"),
        (["electric", "petrol"], "from one full tank, or full charge, to the next.", "to the brim"),
        (["plugin_hybrid"], "from one full tank, or full charge, to the next.", "to the brim"),
    ],
)
def test_the_words_are_those_of_the_cars_fuel(
    everyone: dict[str, Client], car: Car, fuels: list[str], asked: str, never: str
) -> None:
    car.fuel, *others = fuels
    car.save()
    for fuel in others:
        CarFactory(keeper=car.keeper, fuel=fuel)
    page = shown(everyone["keeper"], FILL_LOG)
    assert asked in page
    assert never not in page


def test_a_car_is_chosen_only_where_there_is_more_than_one(everyone: dict[str, Client], car: Car) -> None:
    assert 'type="hidden" name="car"' in everyone["keeper"].get(FILL_LOG).content.decode()
    second = CarFactory(keeper=car.keeper, registration="QC03DEF")
    assert '<select name="car"' in everyone["keeper"].get(FILL_LOG).content.decode()
    save(everyone["keeper"], FILL_LOG, fill_data(second))
    assert Fill.objects.get().car == second


def test_a_car_off_the_road_says_so_and_may_be_logged_on_all_the_same(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on="2026-03-03")
    page = shown(everyone["keeper"], FILL_LOG)
    assert "QA51 ABC is off the road" in page
    assert "MOT ran out on 3 March 2026" in page
    save(everyone["keeper"], FILL_LOG, fill_data(car))
    assert Fill.objects.exists()


def test_a_bill_may_come_for_a_while_after_the_car_has_gone(everyone: dict[str, Client], car: Car) -> None:
    car.in_service_to = date(2026, 2, 1)
    car.save()
    save(everyone["keeper"], FILL_LOG, fill_data(car, filled_on="2026-01-31"))
    assert Fill.objects.get().filled_on == date(2026, 1, 31)


def test_its_history_says_who_logged_it(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], FILL_LOG, fill_data(car))
    record = Fill.objects.get().history.get()
    assert (record.history_user, record.history_change_reason) == (car.keeper, "Logged")


# --- Two figures give the third ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"amount": "51.84", "quantity": "36.28", "unit_price": "142.9"}, ("51.84", "36.280")),
        ({"amount": "", "quantity": "36.28", "unit_price": "142.9"}, ("51.84", "36.280")),
        ({"amount": "51.84", "quantity": "", "unit_price": "142.9"}, ("51.84", "36.277")),
        ({"amount": "51.84", "quantity": "", "unit_price": "142.95"}, ("51.84", "36.264")),
    ],
)
def test_any_two_give_the_third(
    everyone: dict[str, Client], car: Car, typed: dict[str, str], kept: tuple[str, str]
) -> None:
    assert save(everyone["keeper"], FILL_LOG, fill_data(car, **typed)).status_code == 303
    fill = Fill.objects.get()
    assert (fill.amount, fill.quantity) == (Decimal(kept[0]), Decimal(kept[1]))


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        (
            {"unit_price": "139.9"},
            "unit_price",
            "This price would make it £48.27: what was paid comes to 138.9p for one.",
        ),
        ({"amount": "", "quantity": "", "unit_price": "142.9"}, "quantity", "Fill this in."),
        ({"amount": "47.92", "quantity": "", "unit_price": "0"}, "quantity", "Fill this in."),
        ({"amount": "99999", "quantity": "", "unit_price": "0.01"}, "unit_price", "At this price, fuel is more than"),
        ({"unit_price": "142.955"}, "unit_price", "more than 2 decimal places"),
    ],
)
def test_three_that_do_not_fit_are_refused(
    everyone: dict[str, Client], car: Car, typed: dict[str, str], field: str, words: str
) -> None:
    response = save(everyone["keeper"], FILL_LOG, fill_data(car, **typed))
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in response.content.decode()
    assert not Fill.objects.exists()


def test_the_usual_price_of_late_stands_below_the_fuel(everyone: dict[str, Client], car: Car) -> None:
    assert "usual" not in shown(everyone["keeper"], FILL_LOG)
    for day, amount in ((1, "14.10"), (5, "14.29"), (9, "99.00")):
        FillFactory(car=car, filled_on=date(2026, 3, day), odometer=48_000 + day, quantity=10, amount=amount)
    FillFactory(car=car, filled_on=date(2025, 12, 1), odometer=47_000, quantity=10, amount="1.00")
    assert "usual 142.9p" in shown(everyone["keeper"], FILL_LOG)


def test_one_begins_in_the_first_row_and_the_keypad_leads_on(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(FILL_LOG).content.decode()
    tags = {name: re.search(rf'<input[^>]*name="{name}"[^>]*>', page)[0] for name in ("amount", "quantity", "odometer")}
    assert [" autofocus" in tag for tag in tags.values()] == [True, False, False]
    assert [re.search(r'enterkeyhint="(\w+)"', tag)[1] for tag in tags.values()] == ["next", "next", "done"]
    assert all('autocomplete="off"' in tag for tag in tags.values())
    assert "htmx" not in page.replace("htmx-config", "")
