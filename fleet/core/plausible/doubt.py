"""A doubt about an entry: where, why, by which figures, and what may be meant instead."""

from collections.abc import Mapping
from typing import Any, NamedTuple

#: So many meanings are offered at most: a doubt is a question, not a list to look through.
MOST_MEANINGS = 3

#: What a history allows, as it travels to a page in JSON: whole numbers, words, lists and objects of these.
Limits = dict[str, Any]
#: An entry as a room takes it: whole numbers (miles, pence, thousandths, minutes), days as "2027-03-05", words, None.
Typed = Mapping[str, Any]


class Change(NamedTuple):
    """A field, and what it says or is to say, as it is typed: "41700", "15.90", "2027-03-05"; "" for empty."""

    field: str
    value: str


class Meaning(NamedTuple):
    """What may be meant: the fields that change. ``name`` finds its words if they are not just the new values."""

    changes: tuple[Change, ...]
    name: str = ""


class Doubt(NamedTuple):
    """Why what stands in ``field`` may be wrong: ``reason`` finds the words, ``figures`` fill them.

    ``rests_on`` is what was typed that led to it: an answer counts as long as none of that changes. What cannot be
    right whatever is answered, may not be right: it is refused.
    """

    field: str
    reason: str
    figures: Mapping[str, int | str]
    rests_on: tuple[Change, ...]
    meanings: tuple[Meaning, ...] = ()
    may_be_right: bool = True

    @property
    def key(self) -> str:
        """What an answer names: the reason and the values it rests on, without a space."""
        return f"{self.reason}:{'|'.join(change.value.replace(' ', '_') for change in self.rests_on)}"
