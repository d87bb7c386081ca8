"""One key of an offers document: what a page calls it, and the shape in which it is read and written."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from costing.choosing.document.shapes import Shape

Values = Mapping[str, Any]


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
