"""Values of a document that consist of several: premiums by year, fuels, the rules of leaving, and weeks off."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, ClassVar, Literal, NamedTuple, cast

from config import budgets, quantities
from config.quantities import Wrong
from costing.choosing.core.case import Chance, EarlyExit, Fuel, WeeksOff
from costing.choosing.document.figures import Count, Figure, Money, Share
from costing.choosing.document.shapes import Shape, shown, table_of

SHARE_OF_ALL = Share()
PENCE_A_MILE = Figure(quantity=quantities.PENCE_A_MILE, unit="p", takes_range=True)


@dataclass(frozen=True, kw_only=True)
class ByYear(Shape):
    """Pounds by year, or one sum for every year. Typed as pence by year, the last of which goes on."""

    kept = "numbers"
    sign = "£"

    each: ClassVar[Money] = Money()

    def take(self, value: Any) -> tuple[Any, ...]:
        """Pence by year, or their ranges. Raises Wrong."""
        if not isinstance(value, list):
            return (self.each.take(value),)
        if not value:
            raise Wrong("must be one sum for every year or a list of pounds by year, such as [1140.00, 985.00]")
        if len(value) > budgets.PREMIUMS:
            raise Wrong(f"has {len(value):,} years, but no comparison is longer than {budgets.PREMIUMS}")
        return tuple(self.each.take(one) for one in value)

    def give(self, value: Any) -> Any:
        """A list of pounds, or the one sum."""
        given = [self.each.give(one) for one in value]
        return given if len(given) > 1 else given[0]


class FuelForm(NamedTuple):
    """A way to tell what a fuel costs: what the car makes of a litre or a kWh, and what that costs."""

    unit: Literal["litre", "kwh"]
    economy_key: str
    price_key: str
    economy: Figure
    price: Figure
    example: str


FUEL_FORMS = (
    FuelForm(
        "litre",
        "mpg",
        "pence_per_litre",
        Figure(quantity=quantities.MPG, unit="mpg"),
        Figure(quantity=quantities.PENCE_A_LITRE, unit="p a litre", takes_range=True),
        "{ mpg = 47.5, pence_per_litre = 141.9 }",
    ),
    FuelForm(
        "kwh",
        "miles_per_kwh",
        "pence_per_kwh",
        Figure(quantity=quantities.MILES_A_KWH, unit="miles a kWh"),
        Figure(quantity=quantities.PENCE_A_KWH, unit="p a kWh", takes_range=True),
        "{ miles_per_kwh = 3.6, pence_per_kwh = 31.0 }",
    ),
)
#: The key of a fuel's price, by what it is sold by.
PRICE_KEYS: dict[str, str] = {form.unit: form.price_key for form in FUEL_FORMS}


@dataclass(frozen=True, kw_only=True)
class Fuels(Shape):
    """One fuel by its economy and price, or two with the share of the miles that is driven on each."""

    kept = "numbers"

    def take(self, value: Any) -> tuple[Fuel, ...]:
        """The fuels; a price may be a range. Raises Wrong."""
        if isinstance(value, dict):
            return (self._fuel(value),)
        if not isinstance(value, list) or len(value) != 2 or not all(isinstance(one, dict) for one in value):
            raise Wrong(f"must be one table such as {FUEL_FORMS[0].example}, or a list of two, each with its share")
        fuels = tuple(self._shared(one) for one in value)
        if sum(fuel.share for fuel in fuels) != 1:
            raise Wrong("has shares that don’t add up to 1")
        return fuels

    def _shared(self, table: dict[str, Any]) -> Fuel:
        if "share" not in table:
            raise Wrong("needs a share of the miles in each of its two tables")
        share = _named("share", SHARE_OF_ALL, table)
        return self._fuel({name: one for name, one in table.items() if name != "share"})._replace(share=share)

    def _fuel(self, table: dict[str, Any]) -> Fuel:
        form = next((form for form in FUEL_FORMS if set(table) == {form.economy_key, form.price_key}), None)
        if form is None:
            raise Wrong(f"must be written like {' or '.join(form.example for form in FUEL_FORMS)}")
        economy = _named(form.economy_key, form.economy, table)
        return Fuel(_named(form.price_key, form.price, table), form.unit, economy)

    def give(self, value: Any) -> Any:
        """A table, or a list of two with their shares."""
        tables = [self._table(fuel) for fuel in value]
        if len(tables) == 1:
            return tables[0]
        return [table | {"share": SHARE_OF_ALL.give(fuel.share)} for table, fuel in zip(tables, value, strict=True)]

    @staticmethod
    def _table(fuel: Fuel) -> dict[str, Any]:
        form = next(form for form in FUEL_FORMS if form.unit == fuel.unit)
        return {form.economy_key: form.economy.give(fuel.economy), form.price_key: form.price.give(fuel.price)}


def _named(name: str, figure: Figure, table: dict[str, Any]) -> Any:
    """One figure of an inline table. Raises Wrong, with its name."""
    try:
        return figure.take(table[name])
    except Wrong as wrong:
        raise Wrong(f"has {name} that {wrong}") from None


#: What an early exit may cost, with the words that a form has for it.
EXITS = {"weeks": "Some weeks’ rent", "share_of_remaining": "A share of the payments left, in %"}


@dataclass(frozen=True, kw_only=True)
class ExitRule(Shape):
    """The rule for leaving a hire inside its term."""

    kept = "numbers"

    weeks: ClassVar[Figure] = Figure(quantity=quantities.WEEKS)
    share: ClassVar[Share] = Share(quantity=quantities.SHARE.within(hint="; write a half as 0.5"))

    def take(self, value: Any) -> EarlyExit:
        """The rule. Raises Wrong."""
        table = table_of(value, *EarlyExit._fields, example='{ kind = "weeks", value = 8 }')
        kind = quantities.Choice(EXITS).check(table["kind"])
        if kind == "weeks":
            return EarlyExit("weeks", _named("value", self.weeks, table))
        return EarlyExit("share_of_remaining", _named("value", self.share, table))

    def give(self, value: Any) -> dict[str, Any]:
        """The rule as a table."""
        return {"kind": value.kind, "value": self.weeks.give(value.value)}


@dataclass(frozen=True, kw_only=True)
class Spell(Shape):
    """Some weeks without lessons."""

    from_week: ClassVar[Count] = Count(quantity=quantities.SOME_WEEKS)
    weeks: ClassVar[Count] = Count(quantity=quantities.WEEKS)

    def take(self, value: Any) -> WeeksOff:
        """The weeks. Raises Wrong."""
        table = table_of(value, *WeeksOff._fields, example="{ from_week = 20, weeks = 6 }")
        return WeeksOff(_named("from_week", self.from_week, table), _named("weeks", self.weeks, table))

    def give(self, value: Any) -> dict[str, int]:
        """The weeks as a table."""
        return cast(dict[str, int], value._asdict())


@dataclass(frozen=True, kw_only=True)
class Chances(Shape):
    """How likely one is to leave early, by month. What is left of the chance stays to the horizon."""

    kept = "numbers"

    month: ClassVar[Count] = Count(quantity=quantities.MONTHS, unit="months")

    def take(self, value: Any) -> tuple[Chance, ...]:
        """The chances by month. Raises Wrong."""
        example = "{ month = 7, chance = 0.25 }"
        if not isinstance(value, list):
            raise Wrong(f"must be a list such as [{example}], not {shown(value)}")
        if len(value) > quantities.MONTHS.most:
            raise Wrong(f"has {len(value):,} months, but no comparison has more than {quantities.MONTHS.most}")
        tables = [table_of(one, *Chance._fields, example=f"[{example}]") for one in value]
        return self.together(tuple(Chance(self._month(one), _named("chance", SHARE_OF_ALL, one)) for one in tables))

    @staticmethod
    def together(chances: tuple[Chance, ...]) -> tuple[Chance, ...]:
        """The same chances, if each month is there once and they add up to at most 1. Raises Wrong."""
        months = [chance.month for chance in chances]
        if twice := next((month for month in months if months.count(month) > 1), None):
            raise Wrong(f"has month {twice} twice")
        if sum((chance.chance for chance in chances), Fraction(0)) > 1:
            raise Wrong("has chances that add up to more than 1, which is 100 %")
        return chances

    def _month(self, table: dict[str, Any]) -> int:
        return cast(int, _named("month", self.month, table))

    def give(self, value: Any) -> list[dict[str, Any]]:
        """The chances as a list of tables."""
        return [{"month": one.month, "chance": SHARE_OF_ALL.give(one.chance)} for one in value]
