"""The shapes of a document's values, each with every reading of it.

A value is read once, at the edge, into its typed form: whole pence, an exact `Fraction`, a day, a word or a record of
the core. ``take`` reads it from a document and ``give`` writes it there; ``read`` reads what somebody types into a form
and ``show`` gives what they would have typed. Whatever does not take a value raises `Wrong`.

Stored as JSON, a value is the document's own with its numbers and days as text, so that no digit is lost.
"""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar, Literal

from config import quantities
from config.quantities import Wrong
from config.showing import on_one_line
from costing.core.catalogue.running import RUNNING_PARTS

LONGEST_NAME = 80


def shown(value: Any) -> str:
    """A value that was not taken, on one line and not too long; words in quotes."""
    words = on_one_line(str(value), longest=40)
    return f'"{words}"' if isinstance(value, str) else words


def table_of(value: Any, *names: str, example: str) -> dict[str, Any]:
    """An inline table that has just these names. Raises Wrong."""
    if not isinstance(value, dict) or set(value) != set(names):
        raise Wrong(f"must be written like {example}")
    return value


Kept = Literal["as it is", "numbers", "day"]


@dataclass(frozen=True, kw_only=True)
class Shape:
    """Words of a kind that a document has as they are; ``kept`` says what stands as text in stored JSON."""

    kept: ClassVar[Kept] = "as it is"
    sign: ClassVar[str] = ""

    def take(self, value: Any) -> Any:
        """The typed value of a document's. Raises Wrong."""
        raise NotImplementedError

    def give(self, value: Any) -> Any:
        """What a document has for a typed value."""
        return value


@dataclass(frozen=True, kw_only=True)
class Day(Shape):
    """A day, which may lie ahead."""

    kept = "day"

    def take(self, value: Any) -> date:
        """The day. Raises Wrong."""
        return quantities.DAY.check(value)


@dataclass(frozen=True, kw_only=True)
class Flag(Shape):
    """Yes or no."""

    def take(self, value: Any) -> bool:
        """The answer. Raises Wrong."""
        if not isinstance(value, bool):
            raise Wrong("must be true or false")
        return value


#: What turns the direction of reading around, so that a line reads as another one.
_TURNING = frozenset({"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"})


def _breaks_the_line(character: str) -> bool:
    return unicodedata.category(character) in {"Cc", "Zl", "Zp"} or unicodedata.bidirectional(character) in _TURNING


@dataclass(frozen=True, kw_only=True)
class Name(Shape):
    """Words on one line."""

    def take(self, value: Any) -> str:
        """The words without blanks around them. Raises Wrong."""
        if not isinstance(value, str) or not value.strip():
            raise Wrong(f"must be words in quotes, not {shown(value)}")
        if any(_breaks_the_line(character) for character in value.strip()):
            raise Wrong("must be on one line, without control characters")
        if len(value) > LONGEST_NAME:
            raise Wrong(f"must not be longer than {LONGEST_NAME} characters")
        return value.strip()


@dataclass(frozen=True, kw_only=True)
class OneOf(Shape):
    """One of a few words, each with what a page says for it."""

    choices: Mapping[str, str] = field(default_factory=dict)

    def take(self, value: Any) -> str:
        """The word. Raises Wrong."""
        return quantities.Choice(self.choices).check(value)


@dataclass(frozen=True, kw_only=True)
class Parts(Shape):
    """The running costs that an offer includes."""

    def take(self, value: Any) -> frozenset[str]:
        """Their names. Raises Wrong."""
        if not isinstance(value, list):
            raise Wrong(f'must be a list, such as [] or ["insurance"], not {shown(value)}')
        for part in value:
            if not isinstance(part, str) or part not in RUNNING_PARTS:
                raise Wrong(f"{shown(part)} is not one of {', '.join(RUNNING_PARTS)}")
        return frozenset(value)

    def give(self, value: Any) -> list[str]:
        """The names, in the order of the catalogue."""
        return [name for name in RUNNING_PARTS if name in value]
