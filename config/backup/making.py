"""How a backup is made: rows of one moment, then the files that were there at it, then what must be in it."""

import gzip
import hashlib
import os
import tarfile
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import IO, Any, BinaryIO, cast

from django.db import connection
from django.utils import timezone

from config.backup import folder
from config.backup.faults import Refused
from config.backup.kept import Kept, kept_files
from config.backup.manifest import MANIFEST, Manifest, OfFile, OfTable, key_check
from config.backup.moment import last_numbers, one_moment
from config.backup.sealing import SEALED_MAGIC, sealed
from config.backup.tables import Table, tables_of_book
from config.files import FILE_MODE
from config.schema import schema

GZIP_MAGIC = b"\x1f\x8b"
#: Bytes of rows in one part, which whoever restores has in memory.
PART_BYTES = 500_000
_SUM = hashlib.sha256


@dataclass(frozen=True)
class Made:
    """What is in a backup: rows by table; ``missing`` files are named by a row and were not there.

    ``size`` and ``sha256`` are of the whole file as it was written, sealed or not.
    """

    made_at: datetime
    rows: dict[str, int]
    files: int
    missing: list[str]
    size: int
    sha256: str


def back_up_to(path: Path, recipient: str) -> Made:
    """Make a backup at ``path``, sealed to ``recipient`` unless that is empty; all of it, or nothing is there.

    Raises Refused, and OSError.
    """
    if path.is_dir():
        raise Refused(f"{path} is a folder: name a file in it.")
    if path.exists() and not looks_like_backup(path):
        raise Refused(f"{path} is there and is no backup: it is not written over.")
    with folder.alone(), _replacing(path) as file:
        return _write(file, recipient)


def back_up_to_stream(out: BinaryIO, recipient: str) -> Made:
    """Write a backup to an open stream. What breaks off half-way is refused by whoever restores it."""
    with folder.alone():
        made = _write(out, recipient)
        out.flush()
        return made


def looks_like_backup(path: Path) -> bool:
    """Whether a file begins as a backup does, or is empty."""
    with path.open("rb") as file:
        begin = file.read(len(SEALED_MAGIC))
    return not begin or begin == SEALED_MAGIC or begin.startswith(GZIP_MAGIC)


@contextmanager
def _replacing(path: Path) -> Iterator[BinaryIO]:
    """A new file beside ``path`` that takes its place once all is written and on the disk."""
    begin = f".{path.name}."
    for left in path.parent.glob(f"{begin}*.part"):
        # Of a backup that was killed: none runs beside this one.
        left.unlink(missing_ok=True)
    descriptor, name = tempfile.mkstemp(prefix=begin, suffix=".part", dir=path.parent)
    try:
        with open(descriptor, "wb") as file:
            os.fchmod(file.fileno(), FILE_MODE)
            yield file
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    directory = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(directory)
    finally:
        os.close(directory)


def _write(out: BinaryIO, recipient: str) -> Made:
    counted = _Counted(out)
    with kept_files() as kept:
        sealing = sealed(cast(BinaryIO, counted), recipient) if recipient else nullcontext(cast(BinaryIO, counted))
        with sealing as clear, gzip.GzipFile("", "wb", fileobj=clear, mtime=0) as packed, _tar(packed) as tar:
            # Before the moment too: what is deleted between it and the second look is then still here.
            kept.keep_all()
            with one_moment():
                manifest, named = _write_rows(tar, kept)
            _write_files(tar, kept, named, manifest)
            _add(tar, MANIFEST, manifest.as_bytes())
    rows = {name: of.rows for name, of in manifest.tables.items()}
    return Made(manifest.moment, rows, len(manifest.files), manifest.missing, counted.size, counted.total.hexdigest())


def _tar(packed: Any) -> tarfile.TarFile:
    return tarfile.open(fileobj=packed, mode="w|", format=tarfile.PAX_FORMAT, bufsize=1 << 16)


def _write_rows(tar: tarfile.TarFile, kept: Kept) -> tuple[Manifest, set[str]]:
    """The rows of the moment; return the manifest so far and the names of the files that they name."""
    made_at = timezone.now()
    # At once, because from now on files may go whose rows are in this backup.
    there = kept.keep_all()
    of_book = tables_of_book().values()
    manifest = Manifest(
        made_at=made_at.isoformat(timespec="seconds"),
        database=connection.vendor,
        key_check=key_check(),
        migrations=sorted(map(list, schema().applied)),
        last_numbers=last_numbers(of_book),
    )
    for table in of_book:
        manifest.tables[table.name] = _write_table(tar, table)
    named = {name for table in of_book for name in table.named_files()}
    for name in kept.names() - there - named:
        kept.forget(name)
    return manifest, named


def _write_table(tar: tarfile.TarFile, table: Table) -> OfTable:
    count, total = 0, _SUM()
    for number, (rows, part) in enumerate(_parts(table.lines(list(table.fields))), start=1):
        _add(tar, f"rows/{table.name}/{number:06}", part)
        total.update(part)
        count += rows
    return OfTable(list(table.fields), count, total.hexdigest())


def _parts(lines: Iterable[bytes]) -> Iterator[tuple[int, bytes]]:
    """The lines together by PART_BYTES, each with their number."""
    part: list[bytes] = []
    size = 0
    for line in lines:
        part.append(line)
        size += len(line)
        if size >= PART_BYTES:
            yield len(part), b"".join(part)
            part, size = [], 0
    if part:
        yield len(part), b"".join(part)


def _write_files(tar: tarfile.TarFile, kept: Kept, named: set[str], manifest: Manifest) -> None:
    for name in sorted(kept.names()):
        with suppress(FileNotFoundError), kept.open(name) as file:
            manifest.files[name] = _write_file(tar, name, file)
    manifest.missing = sorted(named.difference(manifest.files))


def _write_file(tar: tarfile.TarFile, name: str, file: BinaryIO) -> OfFile:
    file.seek(0, os.SEEK_END)
    info = _info(f"files/{name}", file.tell())
    file.seek(0)
    summed = _Summed(file)
    tar.addfile(info, cast(IO[bytes], summed))
    _forget_members(tar)
    return OfFile(info.size, summed.total.hexdigest())


def _add(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    tar.addfile(_info(name, len(content)), BytesIO(content))
    _forget_members(tar)


def _info(name: str, size: int) -> tarfile.TarInfo:
    info = tarfile.TarInfo(name)
    info.size, info.mode = size, FILE_MODE
    return info


def _forget_members(tar: tarfile.TarFile) -> None:
    """It would keep a record of each, for as long as it is open."""
    tar.members = []  # type: ignore[attr-defined]


class _Counted:
    """A stream that counts and sums what is written to it."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self.size = 0
        self.total = _SUM()

    def write(self, content: bytes) -> int:
        self._out.write(content)
        self.size += len(content)
        self.total.update(content)
        return len(content)

    def flush(self) -> None:
        self._out.flush()


class _Summed:
    """A file whose sum is known once it is read."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.total = _SUM()

    def read(self, size: int = -1) -> bytes:
        content = self._file.read(size)
        self.total.update(content)
        return content
