"""The offers that one of the made-up members compares: a car for 42 months, and two quotes of which little is told."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from costing.core.catalogue.agreements import CONTRACT_HIRE, HIRE_PURCHASE, OWNED, WEEKLY_RENTAL
from costing.core.catalogue.running import (
    BREAKDOWN,
    FIT_OUT,
    FUEL,
    INSURANCE,
    MOT,
    REPAIRS,
    RUNNING_PARTS,
    SERVICING,
    TYRES,
    VEHICLE_TAX,
)
from costing.models import Comparison, Offer
from fleet.core.days import add_months
from fleet.models import FuelKind
from instructors.models import Member

_USE: dict[str, Any] = {
    "miles_per_year": "21000",
    "private_miles_per_year": "3600",
    "lesson_hours_per_week": "25",
    "weeks_taught_per_year": "44",
    "lesson_hour_price": "41.00",
    "discount_rate": "0.03",
    "marginal_tax_rate": "0.26",
}
_RUNNING: dict[str, Any] = {
    "fuel": {"mpg": "47", "pence_per_litre": {"low": "131", "likely": "139.9", "high": "158"}},
    INSURANCE.key: ["1085.00", "1010.00", "965.00"],
    VEHICLE_TAX.key: "195.00",
    BREAKDOWN.key: "72.00",
    MOT.key: "54.85",
    SERVICING.key: "240.00",
    REPAIRS.key: "380.00",
    TYRES.key: "372.00",
    TYRES.life_key: "22000",
    FIT_OUT.key: "515.00",
}
_ELECTRIC: dict[str, Any] = {
    # Four miles in five are charged at home.
    "fuel": [
        {"miles_per_kwh": "3.5", "pence_per_kwh": "26.5", "share": "0.8"},
        {"miles_per_kwh": "3.5", "pence_per_kwh": {"low": "48", "likely": "61", "high": "79"}, "share": "0.2"},
    ],
    INSURANCE.key: ["1260.00", "1180.00"],
    SERVICING.key: "165.00",
    REPAIRS.key: {"low": "120.00", "likely": "290.00", "high": "950.00"},
}
_DIESEL: dict[str, Any] = {
    "fuel": {"mpg": "51", "pence_per_litre": {"low": "138", "likely": "147.5", "high": "166"}},
    SERVICING.key: "315.00",
    REPAIRS.key: {"low": "300.00", "likely": "760.00", "high": "1900.00"},
}
_WHAT_IFS: list[dict[str, Any]] = [
    {"name": "Ill for ten weeks", "weeks_off": {"from_week": 30, "weeks": 10}},
    {"name": "A battery or a gearbox fails", "one_repair": "2450.00"},
    {"name": "A quarter more miles", "more_miles": "0.25"},
]


class _Quote(NamedTuple):
    """One offer as its row has it."""

    kind: str
    name: str
    burns: str
    terms: Mapping[str, Any]
    look_over: Mapping[str, Any] = {}


def make_comparisons(member: Member, today: date) -> None:
    """Make two comparisons for ``member``, both from the first of next month; the fuller one was changed last."""
    starts_on = add_months(today.replace(day=1), 1)
    horizon = {"starts_on": starts_on.isoformat(), "months": 42}
    short = _make(member, "Two quotes by phone", _USE | horizon | {"months": 18}, {}, _by_phone())
    purse = {"cash_in_hand": "10400.00", "put_by_per_month": "590.00"}
    leaving = {"leaving": [{"month": 10, "chance": "0.12"}, {"month": 23, "chance": "0.08"}]}
    full = _make(member, "The next car", _USE | horizon | purse | leaving, _RUNNING, _quotes(starts_on, today))
    full.what_ifs = _WHAT_IFS
    full.changed_at = max(full.changed_at, short.changed_at)
    full.save()


def _make(
    member: Member, name: str, use: dict[str, Any], running: dict[str, Any], quotes: tuple[_Quote, ...]
) -> Comparison:
    comparison = Comparison.objects.create(
        member=member, name=name, use=use, running=running, sources=dict.fromkeys(running, "typed in")
    )
    Offer.objects.bulk_create(
        Offer(
            comparison=comparison,
            position=position,
            sources=dict.fromkeys(quote.terms.get("running", {}), "typed in"),
            **quote._asdict(),
        )
        for position, quote in enumerate(quotes)
    )
    return comparison


def _quotes(starts_on: date, today: date) -> tuple[_Quote, ...]:
    """An electric car on credit, a diesel bought outright, and a new petrol car on hire."""
    electric = {
        "first_registered": add_months(starts_on, -29).isoformat(),
        "price": "12900.00",
        "deposit": "2300.00",
        "payment": "261.30",
        "payments": 48,
        "final_payment": "10.00",
        "quoted_apr": "8.9",
        "value_now": "11700.00",
        "value_at_horizon": {"low": "4700.00", "likely": "6200.00", "high": "7300.00"},
        "damage": "250.00",
        "running": _ELECTRIC,
    }
    diesel = {
        "first_registered": add_months(starts_on, -91).isoformat(),
        "price": "7850.00",
        "value_now": "7200.00",
        "value_at_horizon": {"low": "1500.00", "likely": "2350.00", "high": "3100.00"},
        "running": _DIESEL,
    }
    petrol = {
        "first_registered": starts_on.isoformat(),
        "deposit": "1740.00",
        "payment": "336.50",
        "payments": 42,
        "mileage_allowance": "20000",
        "excess_pence_per_mile": "8.2",
        "damage": {"low": "0.00", "likely": "260.00", "high": "900.00"},
        "includes": [part.name for part in (VEHICLE_TAX, BREAKDOWN, MOT, SERVICING, REPAIRS, TYRES)],
        "early_exit": {"kind": "share_of_remaining", "value": "0.5"},
    }
    return (
        _Quote(HIRE_PURCHASE.name, "Used electric hatchback, hire purchase", FuelKind.ELECTRIC, electric),
        _Quote(OWNED.name, "Older diesel estate, bought outright", FuelKind.DIESEL, diesel, _look_over(today)),
        _Quote(CONTRACT_HIRE.name, "New petrol hatchback, contract hire", FuelKind.PETROL, petrol),
    )


def _look_over(today: date) -> dict[str, Any]:
    """What she has found out about the diesel so far."""
    seen = ("closed_roof", "pedals", "gearbox", "seat_and_belt", "warning_lights", "document", "driven", "seat")
    tests = [
        (2, True, 83_940, ["Nearside front tyre worn close to the legal limit"]),
        (14, True, 71_120, ["Rear brake discs worn"]),
        (26, False, 58_300, ["Rear brake discs worn"]),
    ]
    return {
        "answers": {**dict.fromkeys(seen, True), "keys": False},
        "keepers": 2,
        "tests": [
            {"on": add_months(today, -months).isoformat(), "passed": passed, "miles": miles, "advisories": words}
            for months, passed, miles, words in tests
        ],
        "work": [{"words": "Two front tyres", "pence": 168_00}, {"words": "Rear brake discs", "pence": None}],
    }


def _by_phone() -> tuple[_Quote, ...]:
    """Two quotes as they were given by phone, with nothing said of what running the bought car costs."""
    bought = {
        "price": "8640.00",
        "deposit": "750.00",
        "payment": "262.80",
        "payments": 36,
        "quoted_apr": "12.4",
        "value_at_horizon": "5500.00",
        "damage": "200.00",
    }
    rented = {
        "payment": "178.00",
        "payments": 26,
        "damage": "300.00",
        "includes": [part.name for part in RUNNING_PARTS.values() if part is not FUEL],
        "early_exit": {"kind": "weeks", "value": "4"},
    }
    return (
        _Quote(HIRE_PURCHASE.name, "Petrol hatchback on hire purchase", FuelKind.PETROL, bought),
        _Quote(WEEKLY_RENTAL.name, "Rented with its bills paid", FuelKind.PETROL, rented),
    )
