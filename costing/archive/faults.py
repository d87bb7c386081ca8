"""What is wrong with an archive, told so that it can be found and put right."""

from collections.abc import Iterable
from typing import NamedTuple

from config import budgets
from config.showing import on_one_line, whole

#: Stand where a column's name would if the fault is that of a whole file or a whole line.
WHOLE_FILE = "(file)"
WHOLE_LINE = "(line)"


class ArchiveFault(NamedTuple):
    """One thing that is wrong; as text ``file:line: column: what is wrong``, always on one line."""

    file: str
    line: int
    column: str
    words: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.column}: {self.words}"


class ArchiveRefused(Exception):
    """Nothing was loaded; ``faults`` holds the reasons, in the order of the files and their lines.

    ``more_count`` is how many there are beyond the most that are listed, ``unlisted`` being those not even given.
    """

    def __init__(self, faults: Iterable[ArchiveFault], unlisted: int = 0) -> None:
        found = tuple(faults)
        self.faults = found[: budgets.ARCHIVE_FAULTS]
        self.more_count = len(found) - len(self.faults) + unlisted
        super().__init__("\n".join(self.lines))

    @property
    def lines(self) -> list[str]:
        """Each fault as a line, and how many more there are."""
        more = [f"and {whole(self.more_count)} more"] if self.more_count else []
        return [*map(str, self.faults), *more]


def quoted(text: str) -> str:
    """What a cell says, cut short, between quotation marks."""
    return f'"{on_one_line(text, longest=40)}"'
