"""The uncertain inputs of a comparison: what each is, and what the case becomes with another value of it."""

from fractions import Fraction
from typing import Any, Literal, NamedTuple, cast

from costing.core.catalogue.running import AS_ASKED, When
from costing.core.offers.terms import Case, Offer, Scene, WeeksOff, scene


class Input(NamedTuple):
    """``whole``: it goes in whole steps (months, weeks). ``unit`` is what a file states it in."""

    name: str
    of: Literal["use", "running", "offer", "time"]
    unit: Literal["pounds", "pence", "miles", "weeks", "months"]

    @property
    def is_whole(self) -> bool:
        return self.of == "time"


_ALL = (
    Input("value_at_horizon", "offer", "pounds"),
    Input("payment", "offer", "pounds"),
    Input("damage", "offer", "pounds"),
    Input("miles_per_year", "use", "miles"),
    *(
        Input(part.key, "running", "pence" if part.when is When.BY_MILE else "pounds")
        for part in AS_ASKED
        if part.varied
    ),
    Input("months", "time", "months"),
    Input("weeks_off", "time", "weeks"),
)
#: By name.
INPUTS: dict[str, Input] = {one.name: one for one in _ALL}


class Varied(NamedTuple):
    """The scene and the offers with one or more inputs at other values."""

    scene: Scene
    offers: tuple[Offer, ...]


def bears_on(name: str, offer: Offer) -> bool:
    """Whether an input of an offer means anything to this one: its value, its rent, its damage."""
    if name == "payment":
        return offer.is_hire  # an instalment of credit follows from its rate: it is quoted, not uncertain
    if name == "value_at_horizon":
        return not offer.is_hire  # a car to be handed back is sold too, if it is left before its term ends
    return offer.is_hire or offer.at_end == "hand_back"


def base_of(case: Case, name: str, offer: Offer | None = None) -> Fraction:
    """The value of an input in the base case; KeyError for an unknown one."""
    kind = INPUTS[name]
    if name == "weeks_off":
        return Fraction(0)
    subject = {"offer": offer, "running": case.running, "use": case.use, "time": case.use}[kind.of]
    return Fraction(getattr(subject, name))


def varied(case: Case, values: dict[tuple[str, str], Fraction]) -> Varied:
    """The case with inputs at other ``values``, by (input, name of the offer or nothing for all it bears on).

    The values of anything but months and weeks may be arrays of floats, when all else is in floats too.
    """
    use, running, offers = case.use, case.running, list(case.offers)
    off: WeeksOff | None = None
    # What is said of one offer goes after, and so before, what is said of all.
    for (name, of_offer), value in sorted(values.items(), key=lambda item: item[0][1] != ""):
        kind = INPUTS[name]
        if name == "weeks_off":
            off = WeeksOff(1, int(value)) if value else None
        elif kind.of == "time":
            use = use._replace(months=int(value))
        elif kind.of == "use":
            use = use._replace(miles_per_year=value)
        elif kind.of == "running":
            running = running._replace(**cast(Any, {name: value}))
        else:
            told = cast(Any, {name: value})
            offers = [o._replace(**told) if _is_meant(o, name, of_offer) else o for o in offers]
    return Varied(scene(use, running, off=off), tuple(offers))


def _is_meant(offer: Offer, name: str, of_offer: str) -> bool:
    return offer.name == of_offer if of_offer else bears_on(name, offer)
