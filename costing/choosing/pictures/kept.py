"""Words for the car one has, where it stands among the offers."""

from collections.abc import Iterator
from typing import Any

from config.showing import whole
from costing.choosing.document.keys import RUNNING
from costing.choosing.pictures.facts import Fact
from costing.choosing.pictures.wording import pounds, quoted
from costing.choosing.services.keep_or_replace import KeptCar
from costing.choosing.services.starting_figures import TYPED
from costing.choosing.services.stored import sources_of
from costing.core.catalogue.running import FUEL, INSURANCE, REPAIRS, TYRES
from costing.core.money import to_places
from costing.models import Offer


def put_in(kept: KeptCar) -> Iterator[tuple[str, str]]:
    """The running costs that the records tell and nobody is asked for, each with its figure."""
    for key in RUNNING:
        if key.name != REPAIRS.key and (known := kept.running.get(key.name)):
            yield key.words, _figure(key.name, known.value)


def _figure(key: str, value: Any) -> str:
    if key == FUEL.key:
        return f"{to_places(value, 2).normalize():f}p"
    if key == TYRES.life_key:
        return whole(int(value))
    return quoted(value[0] if key == INSURANCE.key else value)


def kept_facts(offer: Offer) -> list[Fact]:
    """What to know of the car one has beside the offers; nothing for any other offer."""
    if offer.kept_id is None:
        return []
    if "price" not in offer.terms:
        return [Fact("The car you have", "You hire it already: only the payments still to come count.")]
    return [Fact("The car you have", _price_words(offer)), Fact("Your purse", _PURSE)]


_PURSE = (
    "Keeping this car takes no price out of it. The price counts so that all offers stand on one footing: if you "
    "replace the car, what it fetches comes in."
)


def kept_words(letter: str, price: int, *, has_purse: bool) -> str:
    """What the price of the car one has does to the table, beside it; ``price`` in pence."""
    sum_ = pounds(price)
    words = f"{letter} is the car you have. The {sum_} it would fetch stand in “Before lesson one”, although you don’t"
    purse = f" Kept or sold, they leave every purse here {sum_} fuller than shown." if has_purse else ""
    return f"{words} pay them.{purse}"


def _price_words(offer: Offer) -> str:
    value, _, owed = sources_of(offer).get("value_now", "").partition("; ")
    words = "Its price is not paid: it is what the car would fetch today"
    words += f" ({value})." if value not in ("", TYPED) else "."
    return f"{words} {owed[0].upper()}{owed[1:]}." if owed else words
