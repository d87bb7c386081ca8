"""The faults of a document, each with its place."""

from collections.abc import Sequence
from typing import NamedTuple

from config.showing import on_one_line

#: Where something stands: its table, its number if the table is one of a list, and its key.
Place = tuple[str | int, ...]


class DocumentFault(NamedTuple):
    """What is wrong at one place of a document."""

    place: Place
    words: str

    @property
    def key(self) -> str:
        """The place in words: ``offer 2, payment``."""
        parts = [on_one_line(f"{self.place[0]}", longest=40)]
        for part in self.place[1:]:
            if isinstance(part, int):
                parts[-1] += f" {part + 1}"
            else:
                parts.append(on_one_line(part, longest=40))
        return ", ".join(parts)


class Unreadable(ValueError):
    """A document that has faults: all of them, in its own order."""

    def __init__(self, faults: Sequence[DocumentFault]) -> None:
        super().__init__("; ".join(f"{fault.key}: {fault.words}" for fault in faults))
        self.faults = list(faults)
