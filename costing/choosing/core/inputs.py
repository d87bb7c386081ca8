"""The uncertain inputs of a comparison, and what a case becomes when one of them has another value."""

from fractions import Fraction
from typing import Any, Literal, NamedTuple, cast

from costing.choosing.core.case import Case, Offer, Scenario, WeeksOff, scenario
from costing.core.catalogue.running import AS_ASKED, When


class Input(NamedTuple):
    """One figure that nobody may know for certain. ``unit`` is the one that a file gives it in."""

    name: str
    of: Literal["use", "running", "offer", "time"]
    unit: Literal["pounds", "pence", "miles", "weeks", "months"]

    @property
    def is_whole(self) -> bool:
        """Whether it moves in whole steps, as months and weeks do."""
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
    """The scenario and the offers once one or more inputs have other values."""

    scenario: Scenario
    offers: tuple[Offer, ...]


def bears_on(name: str, offer: Offer) -> bool:
    """Whether an input of an offer matters to this one."""
    if name == "payment":
        return offer.is_hire  # an instalment of credit is quoted, so it isn't uncertain
    if name == "value_at_horizon":
        return not offer.is_hire  # a car that is to be handed back is sold if it is left before its term ends
    return offer.is_hire or offer.at_end == "hand_back"


def base_of(case: Case, name: str, offer: Offer | None = None) -> Fraction:
    """The planned value of an input. Raises KeyError for an unknown one."""
    kind = INPUTS[name]
    if name == "weeks_off":
        return Fraction(0)
    subject = {"offer": offer, "running": case.running, "use": case.use, "time": case.use}[kind.of]
    return Fraction(getattr(subject, name))


def varied(case: Case, values: dict[tuple[str, str], Fraction]) -> Varied:
    """The case with other ``values``, each under its input and an offer's name, or "" for every offer it matters to.

    Except for months and weeks, a value may be an array of floats, as long as the rest of the case is in floats too.
    """
    use, running, offers = case.use, case.running, list(case.offers)
    off: WeeksOff | None = None
    # A value for one offer is put in last, so that it overrides the value for all.
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
            changed = cast(Any, {name: value})
            offers = [o._replace(**changed) if _is_meant(o, name, of_offer) else o for o in offers]
    return Varied(scenario(use, running, off=off), tuple(offers))


def _is_meant(offer: Offer, name: str, of_offer: str) -> bool:
    return offer.name == of_offer if of_offer else bears_on(name, offer)
