"""Sentences on an offer's page that follow from what is told."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from config.showing import pence_as_pounds, whole
from costing.choosing.document.figures import likely
from costing.choosing.services.starting_figures import TYPED
from costing.core.catalogue.agreements import AgreementKind
from costing.core.catalogue.running import INSURANCE
from costing.core.money import divide_half_up, to_places


def excess_words(way: AgreementKind, values: Mapping[str, Any], use: Mapping[str, Any]) -> str:
    """How the planned miles compare with the allowance, and what the others cost a year; "" without planned miles."""
    if (miles := use.get("miles_per_year")) is None:
        return ""
    allowed, pence = values.get("mileage_allowance"), likely(values.get("excess_pence_per_mile"))
    if allowed is None:
        return f"You plan {whole(int(miles))}. Leave it empty if there is no limit."
    planned, over = f"You plan {whole(int(miles))}", Fraction(miles) - Fraction(allowed)
    if over <= 0:
        return f"{planned}, so there are no extra miles to pay for."
    if pence is None:
        return f"{planned}. That is {whole(int(over))} too many, and what each costs isn’t told."
    cost = pence_as_pounds(divide_half_up(over * pence, 1))
    # Only somebody who hands the car back pays for extra miles.
    when = "" if way.is_hire else " if it goes back"
    shown = f"{to_places(pence, 2).normalize():f}"
    return f"{planned}. At {shown}p each, the other {whole(int(over))} cost {cost} a year{when}."


def source_words(sources: Mapping[str, str]) -> dict[str, str]:
    """Where each running cost came from, by the field that asks it; nothing where it was typed."""
    return {
        f"{key}_1" if key == INSURANCE.key else key: f"{source[0].upper()}{source[1:]}."
        for key, source in sources.items()
        if source and source != TYPED
    }
