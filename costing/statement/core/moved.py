"""Why the cost of a lesson hour moved between two periods: price, use and volume, category by category.

What a category costs a lesson hour is its true cost, times the business share, over the hours. That is the same as a
product of factors, by what the category grows with (its `Driver`):

* days: pence a day, times days a lesson hour, times the business share. The days are the volume effect: what runs
  anyway is shared by more or fewer hours. The loss of value, which may not run on all of them (an agreement's first day
  has none), is pence a day on which it runs, times the part of the days on which it does, and then the same.
* miles: pence a mile, times business miles a lesson hour. Of fuel, if what was burned is known: pence a litre or kWh,
  times litres or kWh a mile, times business miles a lesson hour.
* hours: pence a lesson hour taught, times the business share.

Each product's change is split by the Shapley value over its factors (`shapley`). A category that one period lacks cost
nothing then. A unit that one period did not burn had the price of the other period: only its use has changed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from costing.core.catalogue.costs import COST_CATEGORIES, DEPRECIATION, FUEL, CostGroup, Driver
from costing.core.money import divide_half_up
from costing.core.records import Unit
from costing.core.running_cost import RunningCost, business_share
from costing.statement.core.burned import Burned, is_measured
from costing.statement.core.shapley import shares_of_change


class Kind(StrEnum):
    """What an effect is of."""

    PRICE = "price"
    USE = "use"
    VOLUME = "volume"


class Factor(StrEnum):
    """What changed, and which kind of effect that has."""

    kind: Kind

    A_DAY = ("pence a day", Kind.PRICE)
    A_MILE = ("pence a mile", Kind.PRICE)
    AN_HOUR = ("pence a lesson hour", Kind.PRICE)
    A_LITRE = ("pence a litre", Kind.PRICE)
    A_KWH = ("pence a kWh", Kind.PRICE)
    LITRES_A_MILE = ("litres a mile", Kind.USE)
    KWH_A_MILE = ("kWh a mile", Kind.USE)
    LOSING = ("part of the days with a loss of value", Kind.USE)
    MILES_AN_HOUR = ("business miles a lesson hour", Kind.USE)
    SHARE = ("business share", Kind.USE)
    DAYS_AN_HOUR = ("days a lesson hour", Kind.VOLUME)

    def __new__(cls, words: str, kind: Kind) -> "Factor":
        factor = str.__new__(cls, words)
        factor._value_ = words
        factor.kind = kind
        return factor


#: What is told once, for all categories that have it.
IN_COMMON = (Factor.DAYS_AN_HOUR, Factor.SHARE)
#: Of each unit, its price and how much of it a mile takes.
_OF_UNIT: dict[Unit, tuple[Factor, Factor]] = {
    "litre": (Factor.A_LITRE, Factor.LITRES_A_MILE),
    "kwh": (Factor.A_KWH, Factor.KWH_A_MILE),
}


@dataclass(frozen=True)
class Spell:
    """One period whose lesson hour is known: pence by category, miles, minutes taught, and days with a car.

    On ``losing_days`` of them a car of the member's own lost value; None is all. Raises ValueError without miles,
    minutes or days, or with more private miles than miles.
    """

    by_category: Mapping[str, int]
    miles: int
    private_miles: int
    minutes: int
    days: int
    burned: Mapping[Unit, Burned]
    losing_days: int | None = None

    def __post_init__(self) -> None:
        if min(self.miles, self.minutes, self.days) <= 0 or self.private_miles > self.miles:
            raise ValueError("a period without miles, lesson hours or days has no cost of a lesson hour to split")

    @cached_property
    def share(self) -> Fraction:
        """The part of the miles that was not private."""
        return business_share(self.miles, self.private_miles) or Fraction(0)

    @cached_property
    def hours(self) -> Fraction:
        """The hours taught."""
        return Fraction(self.minutes, 60)

    @cached_property
    def miles_an_hour(self) -> Fraction:
        """Business miles for each lesson hour."""
        return self.miles * self.share / self.hours

    @cached_property
    def exact(self) -> Fraction:
        """Pence a lesson hour, before rounding."""
        return sum(self.by_category.values()) * self.share / self.hours

    @property
    def pence(self) -> int:
        """Pence a lesson hour as they are shown."""
        return divide_half_up(self.exact, 1)


def spell_of(
    cost: RunningCost, days: int, by_unit: Mapping[Unit, Burned], losing_days: int | None = None
) -> Spell | None:
    """Return the spell of a running cost; None if it gives no cost of a lesson hour."""
    if cost.cost_per_lesson_hour is None:
        return None
    use = (cost.miles or 0, cost.private_miles or 0, cost.minutes or 0)
    return Spell(cost.by_category, *use, days, by_unit, losing_days)


class Effect(NamedTuple):
    """What one factor of one category, from ``before`` to ``after``, did to the lesson hour.

    ``exact`` is in pence, and ``pence`` is what is shown of it.
    """

    category: str
    factor: Factor
    before: Fraction
    after: Fraction
    exact: Fraction
    pence: int

    @property
    def group(self) -> CostGroup:
        """What charts draw its category with."""
        return COST_CATEGORIES[self.category].group


@dataclass(frozen=True)
class Moved:
    """All effects between two spells; their pence add up to the change of the figures as they are shown."""

    before: Spell
    after: Spell
    effects: tuple[Effect, ...]

    @property
    def change(self) -> int:
        """How much more the shown lesson hour is than before, in pence."""
        return self.after.pence - self.before.pence


def moved(before: Spell, after: Spell) -> Moved:
    """Split the change of the cost of a lesson hour from one spell to another.

    The pence of an effect are the difference of two rounded running totals, as every sum of the book is shared: on the
    way from the exact figure before to the one after, the totals are rounded half up, as the two shown figures are. So
    no effect is more than a penny off, none has the wrong sign, one of nothing is nothing, and they add up. The way
    goes through what many categories have in common, one factor after another, and then category by category: so what
    is told together is no more than a penny off together.
    """
    split = [_Split(*of_one) for of_one in _changes(before, after)]
    way = sorted(split, key=lambda one: IN_COMMON.index(one.factor) if one.factor in IN_COMMON else len(IN_COMMON))
    total, shown = before.exact, before.pence
    effects = []
    for one in way:
        total += one.exact
        edge = divide_half_up(total, 1)
        effects.append(Effect(*one, edge - shown))
        shown = edge
    return Moved(before, after, tuple(effects))


class _Split(NamedTuple):
    """An effect that is not rounded yet."""

    category: str
    factor: Factor
    before: Fraction
    after: Fraction
    exact: Fraction


def _changes(before: Spell, after: Spell) -> Iterator[_Split]:
    """Yield the effects by category, from the axis of a chart up, each with its factors in their order."""
    groups = list(CostGroup)
    names = [name for name in COST_CATEGORIES if name in before.by_category or name in after.by_category]
    for name in sorted(names, key=lambda name: groups.index(COST_CATEGORIES[name].group)):
        for factors, befores, afters in _products(name, before, after):
            for one in zip(factors, befores, afters, shares_of_change(befores, afters), strict=True):
                yield _Split(name, *one)


#: Factors, and what they were in either spell.
_Product = tuple[tuple[Factor, ...], list[Fraction], list[Fraction]]


def _products(name: str, before: Spell, after: Spell) -> Iterator[_Product]:
    """Yield the products that make up a category's cost of a lesson hour: one, or of fuel one for each unit."""
    both = (before, after)
    if name == FUEL.name and all(is_measured(spell.by_category.get(name, 0), spell.burned) for spell in both):
        for unit in _OF_UNIT:
            if any(unit in spell.burned for spell in both):
                price, quantity = _OF_UNIT[unit]
                factors = (price, quantity, Factor.MILES_AN_HOUR)
                yield factors, _of_unit(unit, before, after), _of_unit(unit, after, before)
        return
    if name == DEPRECIATION.name and any(_losing(*pair) != 1 for pair in (both, both[::-1])):
        yield _OF_VALUE, _of_value(before, after), _of_value(after, before)
        return
    driver = COST_CATEGORIES[name].driver
    befores, afters = (_of_driver(driver, spell.by_category.get(name, 0), spell) for spell in both)
    yield _FACTORS[driver], befores, afters


_FACTORS = {
    Driver.DAYS: (Factor.A_DAY, Factor.SHARE, Factor.DAYS_AN_HOUR),
    Driver.MILES: (Factor.A_MILE, Factor.MILES_AN_HOUR),
    Driver.HOURS: (Factor.AN_HOUR, Factor.SHARE),
}


def _of_driver(driver: Driver, pence: int, spell: Spell) -> list[Fraction]:
    """What the factors of a sum were, in the order of `_FACTORS`."""
    if driver is Driver.DAYS:
        return [Fraction(pence, spell.days), spell.share, spell.days / spell.hours]
    if driver is Driver.MILES:
        return [Fraction(pence, spell.miles), spell.miles_an_hour]
    return [pence / spell.hours, spell.share]


#: Of the loss of value where it does not run on all days.
_OF_VALUE = (Factor.A_DAY, Factor.LOSING, Factor.SHARE, Factor.DAYS_AN_HOUR)


def _of_value(spell: Spell, other: Spell) -> list[Fraction]:
    pence, losing = spell.by_category.get(DEPRECIATION.name, 0), _losing(spell, other)
    return [pence / (losing * spell.days), losing, spell.share, spell.days / spell.hours]


def _losing(spell: Spell, other: Spell) -> Fraction:
    """The part of the days on which value was lost; a spell without any loss has that of the other."""
    for one in (spell, other):
        if one.by_category.get(DEPRECIATION.name) and one.losing_days:
            return Fraction(min(one.losing_days, one.days), one.days)
    return Fraction(1)


def _of_unit(unit: Unit, spell: Spell, other: Spell) -> list[Fraction]:
    """Price, quantity a mile, and business miles a lesson hour; a unit that was not burned has the other's price."""
    paid = spell.burned.get(unit) or other.burned[unit]
    quantity = spell.burned[unit].thousandths if unit in spell.burned else 0
    return [
        Fraction(paid.pence * 1000, paid.thousandths),
        Fraction(quantity, 1000 * spell.miles),
        spell.miles_an_hour,
    ]
