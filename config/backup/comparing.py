"""A restored book held against the manifest of the backup that it came from: every table, and every file."""

import hashlib
from collections.abc import Iterator

from config.backup import folder
from config.backup.manifest import Manifest, OfFile, OfTable
from config.backup.tables import Table, tables_of_book


def differences(manifest: Manifest) -> Iterator[str]:
    """What in this book's database and folder is not as it was backed up, a sentence each; nothing if all is."""
    of_book = tables_of_book()
    for name, backed_up in manifest.tables.items():
        found = _of_table(of_book[name], backed_up)
        if found.rows != backed_up.rows:
            yield f"{name} has {found.rows} rows, and {backed_up.rows} were backed up."
        elif found.sha256 != backed_up.sha256:
            yield f"The rows of {name} are not those that were backed up."
    there = set(folder.names_in(folder.root()))
    for name in sorted(there - set(manifest.files)):
        yield f"The file {name} was not backed up."
    for name, of in manifest.files.items():
        if name not in there:
            yield f"The file {name} did not come back."
        elif _of_file(name) != of:
            yield f"The file {name} is not as it was backed up."


def _of_table(table: Table, backed_up: OfTable) -> OfTable:
    count, total = 0, hashlib.sha256()
    for line in table.lines(backed_up.columns):
        count += 1
        total.update(line)
    return OfTable(backed_up.columns, count, total.hexdigest())


def _of_file(name: str) -> OfFile:
    with (folder.root() / name).open("rb") as file:
        return OfFile.read(file)
