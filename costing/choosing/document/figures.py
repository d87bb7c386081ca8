"""Numbers of a document: money, counts, rates and shares, and the ranges that may stand for money."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar, cast

from config import quantities
from config.quantities import Number, Wrong
from costing.choosing.core.case import Spread
from costing.choosing.document.shapes import Kept, Shape, table_of
from costing.core.money import to_pence, to_places, to_pounds

#: Rates and counts may have this many decimals, in a file as on a page: they may come out of other figures.
PLACES = 6
_SHARE = quantities.SHARE.within(example="26")


@dataclass(frozen=True, kw_only=True)
class Figure(Shape):
    """An exact number. Where a range may stand for it, the document has one as a table, and it is typed as `Spread`."""

    kept: ClassVar[Kept] = "numbers"

    quantity: Number
    unit: str = ""
    takes_range: bool = False

    @property
    def exact(self) -> Number:
        """The quantity as it may be given: with more decimals than it is usually typed with."""
        return self.quantity.within(places=PLACES)

    def take(self, value: Any) -> Any:
        """The number, or its range. Raises Wrong."""
        if not isinstance(value, dict):
            return self.take_one(value)
        if not self.takes_range:
            raise Wrong("must be one number: a range may stand only for pounds or pence")
        return self.take_range(value)

    def take_one(self, value: Any) -> Any:
        """The number. Raises Wrong."""
        return Fraction(self.exact.check(value))

    def take_range(self, value: Any) -> Spread:
        """A range, low to high. Raises Wrong."""
        table = table_of(value, *Spread._fields, example="{ low = 150.00, likely = 400.00, high = 1400.00 }")
        read = {}
        for name in Spread._fields:
            try:
                read[name] = self.take_one(table[name])
            except Wrong as wrong:
                raise Wrong(f"has a range whose {name} {wrong}") from None
        return in_order(Spread(**read))

    def give(self, value: Any) -> Any:
        """The number as a document has it, or its range as a table."""
        if isinstance(value, Spread):
            return {name: self.give_one(getattr(value, name)) for name in Spread._fields}
        return self.give_one(value)

    def give_one(self, value: Any) -> Any:
        """The number as a document has it: without a point if it is whole."""
        rounded = to_places(value, PLACES)
        return int(rounded) if rounded == int(rounded) else _trimmed(rounded)

    def read(self, text: str) -> Any:
        """The number somebody typed. Raises Wrong."""
        return Fraction(self.exact.read_typed(text))

    def show(self, value: Any) -> str:
        """The number as somebody would type it."""
        return f"{_trimmed(to_places(value, PLACES)):f}"


def in_order(spread: Spread) -> Spread:
    """The range, if it is one. Raises Wrong."""
    for lesser, greater in (("low", "likely"), ("likely", "high")):
        if getattr(spread, lesser) > getattr(spread, greater):
            raise Wrong(f"has a range whose {lesser} is more than its {greater}")
    return spread


def likely(value: Any) -> Any:
    """The figure that the plan takes: of a range the likely one."""
    return value.likely if isinstance(value, Spread) else value


def _trimmed(value: Decimal) -> Decimal:
    whole = value.to_integral_value()
    return whole if value == whole else value.normalize()


@dataclass(frozen=True, kw_only=True)
class Money(Figure):
    """Pounds and pence in a document and on a page, whole pence inside; a range may stand for any sum."""

    sign = "£"

    quantity: Number = quantities.POUNDS
    takes_range: bool = True

    @property
    def exact(self) -> Number:
        return self.quantity

    def take_one(self, value: Any) -> int:
        """Whole pence. Raises Wrong."""
        return to_pence(self.quantity.check(value))

    def give_one(self, value: Any) -> Decimal:
        """Pounds with two decimals."""
        return to_pounds(int(value))

    def read(self, text: str) -> int:
        """Whole pence of the pounds somebody typed. Raises Wrong."""
        return to_pence(self.quantity.read_typed(text))

    def show(self, value: Any) -> str:
        """Pounds with two decimals."""
        return f"{to_pounds(int(value))}"


@dataclass(frozen=True, kw_only=True)
class Count(Figure):
    """A whole number."""

    kept: ClassVar[Kept] = "as it is"

    def take_one(self, value: Any) -> int:
        """The number. Raises Wrong."""
        return cast(int, self.quantity.check(value))

    def give_one(self, value: Any) -> int:
        return int(value)

    def read(self, text: str) -> int:
        """The number somebody typed. Raises Wrong."""
        return cast(int, self.quantity.read_typed(text))


@dataclass(frozen=True, kw_only=True)
class Share(Figure):
    """A share of a whole in a document, and in per cent on a page."""

    quantity: Number = _SHARE
    unit: str = "%"

    @property
    def _per_cent(self) -> Number:
        bounds = {"least": self.quantity.least * 100, "most": self.quantity.most * 100}
        return self.quantity.within(places=PLACES - 2, **bounds)

    def read(self, text: str) -> Fraction:
        """The share of the per cent somebody typed. Raises Wrong."""
        return Fraction(self._per_cent.read_typed(text)) / 100

    def show(self, value: Any) -> str:
        """The share in per cent."""
        return super().show(value * 100)
