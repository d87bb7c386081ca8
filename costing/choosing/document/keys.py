"""One key of an offers document: what a page calls it, and the shape in which it is read and written.

Here are also the keys of running costs, which come from the catalogue and stand both in ``[running]`` and in an offer.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from config import quantities
from costing.choosing.document.combined import PENCE_A_MILE, SHARE_OF_ALL, ByYear, Fuels
from costing.choosing.document.figures import Figure, Money
from costing.choosing.document.shapes import Shape
from costing.core.catalogue.running import AS_ASKED, FUEL, INSURANCE, RunningPart, When

Values = Mapping[str, Any]
#: What is wrong in a table, by place: a key, or the key of a table inside and one of its own.
Wrongs = Iterator[tuple[tuple[str, ...], str]]


@dataclass(frozen=True, kw_only=True)
class Key:
    """One key. ``words`` and ``hint`` belong to its field on a page, and ``example`` shows how it is typed there.

    ``left_open`` is what a choice says that leaves it untold. ``shape_among`` gives the shape where it depends on the
    values before it.
    """

    name: str
    shape: Shape
    words: str = ""
    hint: str = ""
    example: str = ""
    left_open: str = ""
    required: bool = False
    shape_among: Callable[[Values], Shape] | None = None

    def shape_with(self, before: Values) -> Shape:
        """The shape, given the values of the keys ``before`` it."""
        return self.shape_among(before) if self.shape_among else self.shape


@dataclass(frozen=True, kw_only=True)
class Table(Shape):
    """A table inside another."""

    keys: tuple[Key, ...]


#: The two keys that say what fuel costs, of which one is told.
PENCE_A_MILE_KEY, FUEL_KEY = FUEL.key, "fuel"
FUEL_KEYS = (PENCE_A_MILE_KEY, FUEL_KEY)


def keys_of_part(part: RunningPart) -> Iterator[Key]:
    """The keys of one running cost, with what belongs to it."""
    words: dict[str, Any] = {"words": part.question, "hint": part.hint, "example": part.example}
    if part.when is When.BY_MILE:
        yield Key(name=part.key, shape=PENCE_A_MILE, **words)
        yield Key(name=FUEL_KEY, shape=Fuels(), words=part.words)
    else:
        yield Key(name=part.key, shape=ByYear() if part.when is When.PREMIUMS else Money(), **words)
    if part is INSURANCE:
        hint = "Of the whole months left of a year’s premium, if you leave inside the year."
        yield Key(name="insurance_given_back", shape=SHARE_OF_ALL, words="What the insurer pays back", hint=hint)
    if part.life_key:
        miles = Figure(quantity=quantities.TYRE_MILES, unit="miles")
        yield Key(name=part.life_key, shape=miles, words="Miles a set lasts", example="25,000")


RUNNING = tuple(key for part in AS_ASKED for key in keys_of_part(part))
