"""The figures of a case that nobody may know for certain, and what the case becomes when they have other values.

A figure is known by its place: the key that a document gives it, the offer whose own it is ("" for a figure that all
share), and which of two fuels it prices. Money is in pence, a price of fuel too.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, Literal, NamedTuple, cast

from costing.choosing.core.case import Case, Fuel, Offer, Running, Spread, Uncertain, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, figures
from costing.core.catalogue.running import FUEL, INSURANCE, REPAIRS, RUNNING_PARTS
from costing.core.money import divide_half_up

#: One figure, or for insurance one a year.
Value = Fraction | tuple[Fraction, ...]
Unit = Literal["pounds", "pence", "miles", "weeks", "months"]

#: The document's key for the price of a fuel, by what it is sold in.
FUEL_PRICES: dict[str, str] = {"mile": FUEL.key, "litre": "pence_per_litre", "kwh": "pence_per_kwh"}
_PENCE = {*FUEL_PRICES.values(), "excess_pence_per_mile"}
_OF_TIME: dict[str, Unit] = {"months": "months", "weeks_off": "weeks"}
_OF_USE = {"miles_per_year", "lesson_hour_price", "cash_in_hand", "put_by_per_month"}
_PART_OF = {part.key: part.name for part in RUNNING_PARTS.values()} | dict.fromkeys(FUEL_PRICES.values(), FUEL.name)


class Place(NamedTuple):
    """Where one figure stands in a case."""

    input: str
    offer: str = ""
    at: int = 0

    @property
    def unit(self) -> Unit:
        """What a document gives it in. Here, pounds are held in pence."""
        if self.input in _OF_TIME:
            return _OF_TIME[self.input]
        if self.input in _PENCE:
            return "pence"
        return "miles" if self.input == "miles_per_year" else "pounds"

    @property
    def is_whole(self) -> bool:
        """Whether it moves in whole steps, as months and weeks do."""
        return self.input in _OF_TIME


class Input(NamedTuple):
    """One figure that is told, or could happen, with the range told for it. Insurance stands for its first year."""

    place: Place
    base: Fraction
    spread: Spread | None


class Varied(NamedTuple):
    """A case with other values, how long it lasts, and the weeks without lessons."""

    case: Case
    months: int
    off: WeeksOff | None = None

    def figures_of(self, name: str) -> Figures:
        """Work out the offer of this name."""
        what_if = WhatIf("", off=self.off) if self.off else None
        return figures(self.case, offer_named(self.case, name), months=self.months, what_if=what_if)


def offer_named(case: Case, name: str) -> Offer:
    """The offer of this name. Raises StopIteration if there is none."""
    return next(offer for offer in case.offers if offer.name == name)


def inputs_of(case: Case) -> tuple[Input, ...]:
    """What design.md section 9 calls uncertain, if the case tells it, and whatever else has a range."""
    ranges = {Place(one.input, one.offer, one.at): one for one in case.uncertain}
    places = dict.fromkeys([*_usual(case), *ranges])
    found = ((place, base_of(case, place)) for place in places)
    return tuple(Input(place, base, _first(ranges.get(place))) for place, base in found if base is not None)


def _first(told: Uncertain | None) -> Spread | None:
    return told.spreads[0] if told else None


def _usual(case: Case) -> Iterator[Place]:
    for offer in case.offers:
        # An instalment of credit is quoted; a rent may rise.
        yield Place("payment" if offer.is_hire else "value_at_horizon", offer.name)
    yield Place("miles_per_year")
    for name, table in (("", case.running), *((offer.name, offer.running) for offer in case.offers)):
        for key in (INSURANCE.key, REPAIRS.key):
            yield Place(key, name)
        for at, fuel in enumerate(table.fuel or ()):
            yield Place(FUEL_PRICES[fuel.unit], name, at)
    yield from (Place("weeks_off"), Place("months"))


def bears_on(case: Case, place: Place, offer: Offer) -> bool:
    """Whether the figure at ``place`` can move the total of ``offer``."""
    if place.offer not in ("", offer.name):
        return False
    part = _PART_OF.get(place.input)
    if part is None:
        return place.input in _OF_TIME or place.input == "miles_per_year" or bool(place.offer)
    key = FUEL.field if part == FUEL.name else place.input
    return part not in offer.includes and bool(place.offer or getattr(offer.running, key) is None)


def base_of(case: Case, place: Place) -> Fraction | None:
    """The planned value of a figure; None if it isn't told. An offer without its own figure has the common one."""
    if place.is_whole:
        return Fraction(case.use.months if place.input == "months" else 0)
    if place.input in _OF_USE:
        return _exact(getattr(case.use, place.input))
    if place.input not in _PART_OF:
        return _exact(getattr(offer_named(case, place.offer), place.input))
    table = _table(case, place)
    if place.input in FUEL_PRICES.values():
        fuels = table.fuel or ()
        return fuels[place.at].price if place.at < len(fuels) else None
    value = getattr(table, place.input)
    return _exact(value[0] if isinstance(value, tuple) else value)


def _exact(value: int | Fraction | None) -> Fraction | None:
    return None if value is None else Fraction(value)


def _table(case: Case, place: Place) -> Running:
    """Where an own figure is looked for: the offer's own table, or only the figures of the common one."""
    if not place.offer:
        return case.running
    offer = offer_named(case, place.offer)
    has_range = any((one.input, one.offer) == (place.input, place.offer) for one in case.uncertain)
    return case.running_of(offer) if has_range else offer.running


def varied(case: Case, values: Mapping[Place, Value]) -> Varied:
    """The case with other values: money in whole pence, half up. A value of ``months`` is how long one stays, not the
    horizon; weeks off count from the first week. One value for insurance is that of the first year, and the others
    change in proportion; several are by year.
    """
    months, off = case.use.months, None
    for place, value in values.items():
        if isinstance(value, tuple):
            case = _with(case, place, tuple(divide_half_up(year, 1) for year in value))
        elif place.input == "months":
            months = int(value)
        elif place.input == "weeks_off":
            off = WeeksOff(1, int(value)) if value else None
        else:
            case = _with(case, place, divide_half_up(value, 1) if place.unit == "pounds" else value)
    return Varied(case, months, off)


def _with(case: Case, place: Place, told: Any) -> Case:
    if place.input in _OF_USE:
        return case._replace(use=case.use._replace(**{place.input: told}))
    if place.input in _PART_OF:
        if not place.offer:
            return case._replace(running=_running_with(case.running, case.running, place, told))
        offer = offer_named(case, place.offer)
        changed: dict[str, Any] = {"running": _running_with(offer.running, case.running_of(offer), place, told)}
    else:
        changed = {place.input: told}
    offers = (o._replace(**changed) if o.name == place.offer else o for o in case.offers)
    return case._replace(offers=tuple(offers))


def _running_with(table: Running, whole: Running, place: Place, value: Any) -> Running:
    """``table`` with one figure changed, which may have stood in the ``whole`` that lies under it."""
    if place.input in FUEL_PRICES.values():
        fuels = list(cast(tuple[Fuel, ...], whole.fuel))
        fuels[place.at] = fuels[place.at]._replace(price=value)
        return table._replace(fuel=tuple(fuels))
    if place.input == INSURANCE.key and not isinstance(value, tuple):
        by_year = cast(tuple[int, ...], whole.insurance)
        return table._replace(insurance=tuple(_in_proportion(year, value, by_year[0]) for year in by_year))
    changed: dict[str, Any] = {place.input: value}
    return table._replace(**changed)


def _in_proportion(year: int, first: int, base: int) -> int:
    return divide_half_up(year * first, base) if base else first
