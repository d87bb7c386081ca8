"""What a comparison rests on, in words: each running cost and each figure of use, with where it came from."""

from fractions import Fraction
from typing import NamedTuple

from config.showing import pence_as_pounds, whole
from costing.core.money import to_places
from costing.core.offers.terms import Running, Use
from costing.models import Comparison
from costing.offers import wording


class Source(NamedTuple):
    """One running cost: what, how much, and where the figure came from."""

    label: str
    amount: str
    origin: str


def running_sources(comparison: Comparison, running: Running) -> list[Source]:
    """The running costs that are not nothing."""
    amounts = {
        "fuel_pence_per_mile": running.fuel_pence_per_mile and f"{to_places(running.fuel_pence_per_mile, 1)}p a mile",
        "insurance": ", then ".join(pence_as_pounds(premium) for premium in running.insurance),
        "vehicle_tax_per_year": _a_year(running.vehicle_tax_per_year),
        "breakdown_per_year": _a_year(running.breakdown_per_year),
        "mot": running.mot and f"{pence_as_pounds(running.mot)} each, once the car is three years old",
        "servicing_per_year": _a_year(running.servicing_per_year),
        "repairs_per_year": _a_year(running.repairs_per_year),
        "tyre_set": running.tyre_set
        and f"{pence_as_pounds(running.tyre_set)} for {whole(int(running.tyre_set_miles))} miles",
        "fit_out": running.fit_out and f"{pence_as_pounds(running.fit_out)} once",
    }
    return [
        Source(wording.running(key), amount, comparison.sources.get(key, "typed in"))
        for key, amount in amounts.items()
        if amount
    ]


def use_in_words(use: Use) -> str:
    """How the car will be used, in one sentence."""
    return (
        f"{whole(int(use.miles_per_year))} miles a year, {whole(int(use.private_miles_per_year))} of them private; "
        f"{_plain(use.lesson_hours_per_week)} lesson hours a week in {_plain(use.weeks_taught_per_year)} weeks a year, "
        f"at {pence_as_pounds(use.lesson_hour_price)} an hour."
    )


def _a_year(pence: int) -> str:
    return f"{pence_as_pounds(pence)} a year" if pence else ""


def _plain(value: Fraction) -> str:
    return f"{to_places(value, 2).normalize():f}"
