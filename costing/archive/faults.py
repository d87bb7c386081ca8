"""What is wrong with an archive, told so that it can be found and put right."""

from collections.abc import Iterable
from typing import NamedTuple

#: Stand where a column's name would if the fault is that of a whole file or a whole line.
WHOLE_FILE = "(file)"
WHOLE_LINE = "(line)"


class Fault(NamedTuple):
    """One thing that is wrong; as text ``file:line: column: what is wrong``, always on one line."""

    file: str
    line: int
    column: str
    words: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.column}: {self.words}"


class ArchiveRefused(Exception):
    """Nothing was loaded; ``faults`` holds every reason, in the order of the files and their lines."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(map(str, self.faults)))


def plain(text: str, *, longest: int) -> str:
    """A name or cell made fit to print: on one line, without control characters, and not too long."""
    printable = "".join(char if char.isprintable() else " " for char in text)
    return f"{printable[:longest]}…" if len(printable) > longest else printable


def quoted(text: str) -> str:
    """What a cell says, cut short, between quotation marks."""
    return f'"{plain(text, longest=40)}"'
