"""Made-up spells: pairs of periods with every kind of cost, refunds, several units, and what one of them lacks."""

from dataclasses import replace
from random import Random

from costing.core.catalogue.costs import COST_CATEGORIES, FUEL
from costing.core.records import Unit
from costing.statement.core.burned import Burned
from costing.statement.core.moved import Spell

_UNITS: list[list[Unit]] = [[], ["litre"], ["kwh"], ["litre", "kwh"]]


def random_spell(chance: Random) -> Spell:
    """A period with some of the categories, each a sum or a refund, and with what was burned, as often as not known."""
    by_category = {
        name: pence
        for name in COST_CATEGORIES
        if name != FUEL.name and chance.random() < 0.6 and (pence := chance.randint(-20_000, 90_000))
    }
    burned = {unit: Burned(chance.randint(0, 40_000), chance.randint(1, 400_000)) for unit in chance.choice(_UNITS)}
    fuel = sum(one.pence for one in burned.values())
    if chance.random() < 0.2:
        burned, fuel = {}, chance.randint(-500, 40_000)
    if fuel:
        by_category[FUEL.name] = fuel
    miles = chance.randint(1, 9_000)
    days = chance.choice([28, 30, 31, 31, chance.randint(1, 366)])
    return Spell(
        by_category,
        miles=miles,
        private_miles=chance.choice([0, chance.randint(0, miles), miles]),
        minutes=chance.choice([60 * chance.randint(1, 150), chance.randint(1, 9_000)]),
        days=days,
        burned=burned,
        losing_days=chance.choice([None, days, days - 1, chance.randint(0, days)]),
    )


def random_pair(chance: Random) -> tuple[Spell, Spell]:
    """Two spells, of which the second is at times the first with one thing changed."""
    before, after = random_spell(chance), random_spell(chance)
    same = chance.random()
    if same < 0.2:
        after = replace(before, minutes=after.minutes)
    elif same < 0.3:
        after = before
    return before, after
