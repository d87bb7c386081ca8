"""The way in: load an archive's new rows into the book, all of them or none."""

from dataclasses import dataclass, field, replace
from pathlib import Path

from django.db import DatabaseError, IntegrityError, transaction

from costing.archive.checking import check
from costing.archive.doubts import doubts_about
from costing.archive.faults import WHOLE_FILE, ArchiveFault, ArchiveRefused
from costing.archive.pictures import Taken
from costing.archive.reading import FileRow, Sheet, read_sheet
from costing.archive.sources import Pictures, opened
from costing.archive.tables import TABLES
from costing.archive.writing import write
from fleet.actions import lock_every_car


@dataclass(frozen=True)
class Loaded:
    """The rows added and the rows already known, by file: the first ten, and any later file in the archive.

    ``from_cover`` counts due items that were added for cover alone and stand in no file. ``doubts`` say, one
    line each, what of the new rows can hardly be right; they are loaded all the same.
    """

    added: dict[str, int]
    already_known: dict[str, int]
    from_cover: int
    doubts: list[str] = field(default_factory=list)


_Written = tuple[Loaded, dict[str, list[FileRow]]]


def load(path: Path) -> Loaded:
    """Load the folder or zip at ``path``. On any fault, load nothing and raise ArchiveRefused with all of them."""
    with opened(path) as (files, pictures, faults):
        # Each file's bytes are dropped once they are read, because together they take the most memory.
        sheets = {table.file: read_sheet(table, files.pop(table.file)) for table in TABLES if table.file in files}
        taken = Taken()
        try:
            with transaction.atomic():
                # So that nothing changes between the checks and the writing.
                lock_every_car()
                loaded, new = _check_and_write(sheets, faults, pictures, taken)
        except BaseException as error:
            taken.forget()
            if isinstance(error, _RefusedByDatabase | IntegrityError):
                words = f"passed every check, but the database refused it: {error}"
                raise ArchiveRefused([ArchiveFault(path.name, 1, WHOLE_FILE, words)]) from error
            raise
        return replace(loaded, doubts=doubts_about(new).lines)


class _RefusedByDatabase(Exception):
    """A write failed after every check passed: for example, somebody loaded the same archive at the same time."""


def _check_and_write(
    sheets: dict[str, Sheet], faults: list[ArchiveFault], pictures: Pictures, taken: Taken
) -> _Written:
    findings = check(sheets, pictures, taken)
    if faults or findings.faults:
        raise ArchiveRefused([*faults, *findings.faults], sum(sheet.unlisted for sheet in sheets.values()))
    try:
        from_cover = write(findings.new, taken)
    except DatabaseError as error:
        first_line = (str(error).splitlines() or [type(error).__name__])[0]
        raise _RefusedByDatabase(first_line) from error
    told = [table.file for table in TABLES if table.file in sheets or not table.is_later]
    added = {file: len(findings.new.get(file, ())) for file in told}
    known = {file: findings.known_count.get(file, 0) for file in told}
    return Loaded(added, known, from_cover), findings.new
