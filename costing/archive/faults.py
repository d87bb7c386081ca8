"""What is wrong with an archive, in words that help to find it and put it right."""

from collections.abc import Iterable
from typing import NamedTuple

from config import budgets
from config.showing import on_one_line, whole

#: These stand in place of a column's name if a whole file or a whole line is at fault.
WHOLE_FILE = "(file)"
WHOLE_LINE = "(line)"


class ArchiveFault(NamedTuple):
    """One fault; its text is ``file:line: column: what is wrong``, always on one line."""

    file: str
    line: int
    column: str
    words: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.column}: {self.words}"


class ArchiveRefused(Exception):
    """Nothing was loaded; ``faults`` holds the reasons in the order of files and lines.

    ``more_count`` is how many faults are not listed, including the ``unlisted`` ones that were never passed in.
    """

    def __init__(self, faults: Iterable[ArchiveFault], unlisted: int = 0) -> None:
        found = tuple(faults)
        self.faults = found[: budgets.ARCHIVE_FAULTS]
        self.more_count = len(found) - len(self.faults) + unlisted
        super().__init__("\n".join(self.lines))

    @property
    def lines(self) -> list[str]:
        """Each fault as one line, then how many more there are."""
        more = [f"and {whole(self.more_count)} more"] if self.more_count else []
        return [*map(str, self.faults), *more]


def quoted(text: str) -> str:
    """Return a cell's text, shortened, in quotation marks."""
    return f'"{on_one_line(text, longest=40)}"'
