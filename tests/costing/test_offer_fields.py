"""The fields of the keys of an offers document: what they clean to, what they show, and what they refuse."""

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from django import forms

from costing.choosing.core.case import Chance, EarlyExit, Fuel, Spread, WeeksOff
from costing.choosing.document.keys import RUNNING, Key
from costing.choosing.document.offer_keys import OFFER
from costing.choosing.document.schema import LISTS, TABLES, USE, key_named
from costing.choosing.forms.several import fields_of, initial_of, put_faults, told_in

PREMIUMS, FUEL = key_named("running", "insurance"), key_named("running", "fuel")
EXIT, LEAVING = key_named("offer", "early_exit"), key_named("use", "leaving")
PRICE, WEEKS_OFF = key_named("offer", "price"), key_named("what_if", "weeks_off")


def form_of(keys: Iterable[Key], data: dict[str, Any] | None = None, **options: Any) -> forms.Form:
    form = forms.Form(data, initial=options.pop("initial", None))
    for key in keys:
        form.fields.update(fields_of(key, **options))
    return form


def told(data: dict[str, Any], *keys: Key, before: dict[str, Any] | None = None, **options: Any) -> dict[str, Any]:
    form = form_of(keys, data, **options)
    form.is_valid()
    values = told_in(form, keys, before)
    assert form.errors == {}
    return values


def refused(data: dict[str, Any], *keys: Key, **options: Any) -> dict[str, list[str]]:
    form = form_of(keys, data, **options)
    form.is_valid()
    told_in(form, keys)
    return {name: [str(words) for words in errors] for name, errors in form.errors.items()}


EVERY = {
    "starts_on": date(2027, 3, 8),
    "months": 36,
    "miles_per_year": Fraction(31_000),
    "private_miles_per_year": Fraction(4_500),
    "lesson_hours_per_week": Fraction(59, 2),
    "weeks_taught_per_year": Fraction(44),
    "lesson_hour_price": 41_00,
    "discount_rate": Fraction(3, 100),
    "marginal_tax_rate": Fraction(28, 100),
    "cash_in_hand": Spread(4_000_00, 5_250_00, 5_300_00),
    "leaving": (Chance(11, Fraction(3, 20)), Chance(23, Fraction(1, 5))),
    "name": "Saloon",
    "kind": "contract_hire",
    "first_registered": date(2031, 1, 1),
    "payment": Spread(300_00, 342_00, 360_00),
    "payments": 42,
    "frequency": "month",
    "on_leaving": "settle",
    "half_rule": False,
    "at_end": "hand_back",
    "excess_pence_per_mile": Spread(Fraction(6), Fraction(36, 5), Fraction(9)),
    "includes": frozenset({"vehicle_tax", "tyres"}),
    "early_exit": EarlyExit("share_of_remaining", Fraction(1, 2)),
    "then": "renew",
    "pauses_when_off": True,
    "fuel": (
        Fuel(Spread(Fraction(140), Fraction(293, 2), Fraction(170)), "litre", Fraction(52), Fraction(3, 5)),
        Fuel(Fraction(24), "kwh", Fraction(41, 10), Fraction(2, 5)),
    ),
    "insurance": (1_260_00, Spread(900_00, 1_085_00, 1_100_00), 940_00),
    "insurance_given_back": Fraction(2, 5),
    "tyre_set_miles": Fraction(22_000),
}


def test_what_fields_show_of_any_value_cleans_to_the_same_value() -> None:
    keys = (*USE, *OFFER, *RUNNING)
    initial = {
        name: shown for key in keys if key.name in EVERY for name, shown in initial_of(key, EVERY[key.name]).items()
    }
    form = form_of(keys, initial=initial, with_range=True)
    sent = {name: form[name].value() for name in form.fields if form[name].value() is not None}

    assert sent["marginal_tax_rate"] == "28"
    assert (sent["payment"], sent["payment_low"], sent["payment_high"]) == ("342.00", "300.00", "360.00")
    assert (sent["early_exit_value"], sent["leaving_chance_1"], sent["fuel_share"]) == ("50", "15", "40")
    assert (sent["half_rule"], sent["miles_per_year"]) == ("no", "31000")
    assert told(sent, *keys, with_range=True) == EVERY


def test_every_key_has_fields_with_words() -> None:
    for name, keys in {**TABLES, **LISTS}.items():
        for key in keys:
            fields = fields_of(key, with_range=True)
            assert (len(fields) > 0) is (key.name != "running" or name != "offer")
            assert all(field.label for field in fields.values()) or name == "uncertain"


@pytest.mark.parametrize("key", [*USE, *OFFER, *RUNNING], ids=lambda key: key.name)
def test_what_is_left_empty_is_not_told_unless_it_must_be(key: Key) -> None:
    form = form_of([key], {})
    form.is_valid()
    assert told_in(form, [key]) == {}
    must_be = key.required or key.name in {"frequency", "on_leaving"}
    assert bool(form.errors) is must_be


def test_a_sum_below_or_above_the_bounds_of_a_file_is_refused_alike() -> None:
    hours = key_named("use", "lesson_hours_per_week")
    assert told({"lesson_hours_per_week": "168"}, hours) == {"lesson_hours_per_week": 168}
    assert "between 0 and 168" in refused({"lesson_hours_per_week": "168.5"}, hours)["lesson_hours_per_week"][0]
    assert told({"price": "£11,800.50"}, PRICE) == {"price": 11_800_50}
    assert "more than 2 decimal places" in refused({"price": "1.005"}, PRICE)["price"][0]


def test_a_range_needs_all_three_figures_in_order() -> None:
    assert refused({"price": "5", "price_low": "4"}, PRICE, with_range=True).keys() == {"price_high"}
    assert refused({"price_low": "4", "price_high": "9"}, PRICE, with_range=True).keys() == {"price"}
    wrong = refused({"price": "5", "price_low": "6", "price_high": "9"}, PRICE, with_range=True)
    assert wrong == {"price": ["This has a range whose low is more than its likely."]}
    unsound = refused({"price": "5", "price_low": "x", "price_high": "9"}, PRICE, with_range=True)
    assert unsound.keys() == {"price_low"}


def test_a_range_that_a_form_does_not_ask_stays_while_its_likely_figure_does() -> None:
    before = {"price": Spread(1_00, 2_00, 3_00)}
    assert told({"price": "2.00"}, PRICE, before=before) == before
    assert told({"price": "2.50"}, PRICE, before=before) == {"price": 2_50}


def test_premiums_are_told_year_by_year_without_a_gap() -> None:
    assert told({"insurance_1": "900", "insurance_2": "800"}, PREMIUMS) == {"insurance": (900_00, 800_00)}
    assert refused({"insurance_1": "900", "insurance_3": "800"}, PREMIUMS).keys() == {"insurance_2"}
    assert refused({"insurance_2": "900"}, PREMIUMS).keys() == {"insurance_1"}
    before = {"insurance": (900_00, 800_00, 700_00, 600_00)}
    unchanged = {"insurance_1": "900", "insurance_2": "800", "insurance_3": "700"}
    assert told(unchanged, PREMIUMS, before=before) == before
    assert told(unchanged | {"insurance_3": "710"}, PREMIUMS, before=before) == {"insurance": (900_00, 800_00, 710_00)}


def test_fuel_is_told_by_economy_and_price_and_two_fuels_by_their_share() -> None:
    petrol, electric = {"mpg": "52", "pence_per_litre": "146.5"}, {"miles_per_kwh": "4.1", "pence_per_kwh": "24"}
    assert told(petrol, FUEL) == {"fuel": (Fuel(Fraction(293, 2), "litre", Fraction(52)),)}
    assert told(electric, FUEL) == {"fuel": (Fuel(Fraction(24), "kwh", Fraction(41, 10)),)}
    both = told(petrol | electric | {"fuel_share": "40"}, FUEL)["fuel"]
    assert [fuel.share for fuel in both] == [Fraction(3, 5), Fraction(2, 5)]
    assert refused(petrol | electric, FUEL).keys() == {"fuel_share"}
    assert refused({"mpg": "52"}, FUEL).keys() == {"pence_per_litre"}
    assert refused({"pence_per_kwh": "24"}, FUEL).keys() == {"miles_per_kwh"}


def test_leaving_early_is_some_weeks_or_a_share() -> None:
    assert told({"early_exit_kind": "weeks", "early_exit_value": "8"}, EXIT) == {"early_exit": ("weeks", 8)}
    assert told({"early_exit_value": "8"}, EXIT) == {}
    assert refused({"early_exit_kind": "weeks"}, EXIT).keys() == {"early_exit_value"}
    share = {"early_exit_kind": "share_of_remaining", "early_exit_value": "101"}
    assert refused(share, EXIT)["early_exit_value"] == ["A share must be between 0 and 100%."]


def test_weeks_off_begin_with_the_first_unless_told() -> None:
    assert told({"weeks_off_weeks": "6"}, WEEKS_OFF) == {"weeks_off": WeeksOff(1, 6)}
    assert told({"weeks_off_weeks": "6", "weeks_off_from_week": "20"}, WEEKS_OFF) == {"weeks_off": WeeksOff(20, 6)}
    assert told({"weeks_off_from_week": "20"}, WEEKS_OFF) == {}


def test_chances_are_told_with_their_months() -> None:
    assert told({"leaving_month_2": "7", "leaving_chance_2": "25"}, LEAVING) == {
        "leaving": (Chance(7, Fraction(1, 4)),)
    }
    assert refused({"leaving_month_1": "7"}, LEAVING).keys() == {"leaving_chance_1"}
    assert refused({"leaving_chance_1": "7"}, LEAVING).keys() == {"leaving_month_1"}


def test_all_but_fuel_may_be_ticked_at_once_under_a_hire() -> None:
    includes = key_named("offer", "includes")
    every = told({"includes": ["all_but_fuel"]}, includes, kind="weekly_rental")["includes"]
    assert len(every) == 8
    assert "fuel" not in every
    assert "all_but_fuel" in str(refused({"includes": ["all_but_fuel"]}, includes, kind="owned"))


def test_a_kind_requires_what_it_needs_and_calls_a_deposit_by_its_name() -> None:
    final, deposit = key_named("offer", "final_payment"), key_named("offer", "deposit")
    assert refused({}, final, kind="pcp") == {"final_payment": ["Fill this in."]}
    assert told({}, final, kind="hire_purchase") == {}
    assert fields_of(deposit, kind="contract_hire")["deposit"].label == "Initial rental"
    assert fields_of(deposit, kind="pcp")["deposit"].label == "Deposit"


def test_a_fault_stands_beside_its_first_field_or_above_the_form() -> None:
    form = form_of([PRICE, PREMIUMS], {"price": "x", "insurance_1": "3"})
    form.is_valid()
    put_faults(form, {"price": "is said already", "insurance": "is wrong", "at_end": "leaves no car"})
    assert len(form.errors["price"]) == 1
    assert form.errors["insurance_1"] == ["This is wrong."]
    assert form.non_field_errors() == ["at_end: this leaves no car."]
