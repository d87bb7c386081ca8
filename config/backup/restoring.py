"""How a backup becomes a book again: all read and checked first, into an empty installation, all of it or nothing."""

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from shutil import copyfileobj
from typing import Any, BinaryIO, cast

from django.apps import apps
from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.db import DatabaseError, connection, transaction

from config.backup import folder
from config.backup.faults import Refused
from config.backup.manifest import Manifest, key_check
from config.backup.moment import go_on_from, have_to_oneself
from config.backup.reading import Nobody, read_through
from config.backup.tables import Table, tables_of_book
from config.schema import Schema, Standing, schema
from config.showing import counted

#: ``migrate`` fills these itself; the backup's own rows take their place.
MADE_BY_MIGRATE = ("auth_permission", "django_content_type")


@dataclass(frozen=True)
class Restored:
    """What came back, by its manifest; ``has_own_key`` if SECRET_KEY is that of the book that was backed up."""

    manifest: Manifest
    has_own_key: bool

    @property
    def made_at(self) -> datetime:
        return self.manifest.moment

    @property
    def rows(self) -> dict[str, int]:
        """By table."""
        return {name: of.rows for name, of in self.manifest.tables.items()}

    @property
    def files(self) -> int:
        return len(self.manifest.files)

    @property
    def missing(self) -> list[str]:
        return self.manifest.missing


def restore_from(file: BinaryIO, key: Any) -> Restored:
    """Restore the backup in ``file``, which may be a pipe. Raises Refused, with nothing changed, and OSError."""
    with folder.alone():
        found = schema()
        if found.standing is not Standing.UP_TO_DATE:
            raise Refused(found.in_words())
        of_book = tables_of_book()
        _refuse_what_is_not_empty(of_book)
        with _spooled(file) as backup:
            manifest = read_through(backup, key, Nobody())
            _refuse_other_releases(manifest, found, of_book)
            _put_in_all(backup, key, manifest, of_book)
    return Restored(manifest, has_own_key=manifest.key_check == key_check())


def _refuse_what_is_not_empty(tables: Mapping[str, Table]) -> None:
    _refuse_rows(tables)
    if folder.has_files():
        where = settings.FILES_URL or folder.root()
        raise Refused(f"There are files of a book in {where}: a backup is restored into an empty one only.")


def _refuse_rows(tables: Mapping[str, Table]) -> None:
    for name, table in tables.items():
        if name not in MADE_BY_MIGRATE and not table.is_empty:
            raise Refused(f"This book is not empty ({name} has rows): a backup is restored into an empty one only.")


def _refuse_other_releases(manifest: Manifest, here: Schema, tables: Mapping[str, Table]) -> None:
    made_with = {(app, name) for app, name in manifest.migrations}
    if made_with - here.of_release:
        raise Refused("It was made by a newer release of the book: install that release, then restore.")
    if made_with != here.applied:
        raise Refused(
            "It was made by an older release of the book: install that release, restore there, then update "
            f"({counted(len(here.applied - made_with), 'migration')} came since)."
        )
    if {name: set(of.columns) for name, of in manifest.tables.items()} != {
        name: set(table.fields) for name, table in tables.items()
    }:
        raise Refused("Its tables are not those of this release: it was made by another one.")


@contextmanager
def _spooled(file: BinaryIO) -> Iterator[BinaryIO]:
    """The file itself, or for a pipe its content as it came: it is read twice."""
    if file.seekable():
        yield file
    else:
        with tempfile.TemporaryFile(dir=folder.arriving()) as spool:
            copyfileobj(file, spool)
            yield cast(BinaryIO, spool)


def _put_in_all(backup: BinaryIO, key: Any, manifest: Manifest, tables: Mapping[str, Table]) -> None:
    try:
        with folder.staged_folder() as staged, transaction.atomic():
            have_to_oneself(tables.values())
            _refuse_rows(tables)
            for name in MADE_BY_MIGRATE:
                tables[name].model._base_manager.all().delete()
            _forget_this_installation()
            read_through(backup, key, _PutIn(manifest, tables, staged))
            go_on_from(tables.values(), manifest.last_numbers)
            connection.check_constraints()
            # The rows become valid after the files are there, so that no row ever names one that is not.
            folder.place(staged)
    except DatabaseError as error:
        raise Refused(f"The database does not take its rows: {str(error).splitlines()[0]}") from error
    finally:
        ContentType.objects.clear_cache()


def _forget_this_installation() -> None:
    """Begin anew with what no backup holds: what was due while the installation was empty has not failed."""
    for label in settings.OF_THIS_INSTALLATION:
        apps.get_model(label)._base_manager.all().delete()


class _PutIn:
    """Puts rows into their tables and files into a folder."""

    def __init__(self, manifest: Manifest, tables: Mapping[str, Table], staged: Path) -> None:
        self._manifest, self._tables, self._staged = manifest, tables, staged

    def rows(self, table: str, lines: bytes) -> None:
        self._tables[table].put_in(self._manifest.tables[table].columns, lines)

    def file(self, name: str, chunks: Iterator[bytes]) -> None:
        path = self._staged / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            for chunk in chunks:
                file.write(chunk)
