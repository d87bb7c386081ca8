"""Words for the car one has, where it stands among the offers."""

from collections.abc import Iterator
from typing import Any

from config.showing import whole
from costing.choosing.document.schema import RUNNING
from costing.choosing.pictures.wording import quoted
from costing.choosing.services.keep_or_replace import KeptCar
from costing.choosing.services.starting_figures import TYPED
from costing.core.catalogue.running import FUEL, INSURANCE, REPAIRS, TYRES
from costing.core.money import to_places
from costing.models import Offer


def put_in(kept: KeptCar) -> Iterator[tuple[str, str]]:
    """The running costs that the records tell and nobody is asked for, each with its figure, in the document's order."""
    for key in RUNNING:
        if key.name != REPAIRS.key and (known := kept.running.get(key.name)):
            yield key.words, _figure(key.name, known.value)


def _figure(key: str, value: Any) -> str:
    if key == FUEL.key:
        return f"{to_places(value, 2).normalize():f}p"
    if key == TYRES.life_key:
        return whole(int(value))
    return quoted(value[0] if key == INSURANCE.key else value)


def kept_note(offer: Offer) -> str:
    """What to know of the car one has beside the offers; "" for any other offer."""
    if offer.kept_id is None:
        return ""
    if "price" not in offer.terms:
        return "You have this car on hire already: only the payments still to come count."
    value, _, owed = offer.sources.get("value_now", "").partition("; ")
    words = "You have this car already. Its price is not paid: it is what the car would fetch today"
    words += f" ({value})." if value not in ("", TYPED) else "."
    return f"{words} {owed[0].upper()}{owed[1:]}." if owed else words


def kept_purse_note(offer: Offer) -> str:
    """What the lowest the purse falls leaves out of account for the car one has; "" for any other offer."""
    if offer.kept_id is None or "price" not in offer.terms:
        return ""
    return (
        "Keeping this car takes no price out of your purse. It counts here so that all offers stand on one footing: "
        "if you replace the car, what it fetches comes into your purse."
    )
