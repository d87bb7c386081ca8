"""Reading a backup from its first byte to its last, and holding what is in it against what must be."""

import gzip
import hashlib
import tarfile
import zlib
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from typing import IO, Any, BinaryIO, Protocol, cast

from config.backup.faults import Refused
from config.backup.making import GZIP_MAGIC
from config.backup.manifest import MANIFEST, Manifest, OfFile, read_manifest
from config.backup.sealing import SEALED_MAGIC, opened

#: A part of rows is far smaller unless one row alone is longer; a manifest tells 100,000 files in 20 MB.
_MOST_IN_MEMORY = 100_000_000
_CHUNK = 1 << 16


class Taker(Protocol):
    """Whoever is handed what a backup holds, in its order."""

    def rows(self, table: str, lines: bytes) -> None: ...

    def file(self, name: str, chunks: Iterator[bytes]) -> None: ...


class Nobody:
    """Takes nothing: for a first reading that only checks."""

    def rows(self, table: str, lines: bytes) -> None:
        pass

    def file(self, name: str, chunks: Iterator[bytes]) -> None:
        for _ in chunks:
            pass


def read_through(file: BinaryIO, key: Any, taker: Taker) -> Manifest:
    """Hand all of a backup to ``taker``, and return its manifest once it is known that nothing is missing or wrong.

    ``key``: the secret key, None if there is none. Raises Refused; what was taken by then must be dropped.
    """
    try:
        with _clear(file, key) as clear, gzip.GzipFile(fileobj=clear) as packed:
            return _read(packed, taker)
    except (tarfile.TarError, EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise Refused(f"It is cut, or was altered ({error}).") from error


@contextmanager
def _clear(file: BinaryIO, key: Any) -> Iterator[BinaryIO]:
    file.seek(0)
    begin = file.read(len(SEALED_MAGIC))
    file.seek(0)
    if begin == SEALED_MAGIC:
        if key is None:
            raise Refused("It is sealed: name the file of the secret key with --identity.")
        with opened(file, key) as clear:
            yield clear
    elif begin.startswith(GZIP_MAGIC):
        yield file
    else:
        raise Refused("It is no backup of this book.")


def _read(packed: gzip.GzipFile, taker: Taker) -> Manifest:
    found = _Found()
    manifest = None
    with tarfile.open(fileobj=packed, mode="r|", bufsize=_CHUNK) as tar:
        for member in tar:
            if manifest or not member.isreg():
                raise Refused("Something is in it that does not belong there: it was altered.")
            content = cast(IO[bytes], tar.extractfile(member))
            if member.name == MANIFEST:
                manifest = read_manifest(_whole(member, content))
            else:
                _hand_over(member, content, found, taker)
            tar.members = []  # type: ignore[attr-defined]
    # To the very end, where the sums of the wrappings are.
    while packed.read(_CHUNK):
        pass
    if manifest is None:
        raise Refused("It is cut: its end is missing.")
    found.check(manifest)
    return manifest


def _hand_over(member: tarfile.TarInfo, content: IO[bytes], found: "_Found", taker: Taker) -> None:
    sort, *rest = PurePosixPath(member.name).parts
    if sort == "rows" and len(rest) == 2:
        lines = _whole(member, content)
        found.add_rows(rest[0], lines)
        taker.rows(rest[0], lines)
    elif sort == "files" and rest and ".." not in rest:
        name = "/".join(rest)
        taker.file(name, found.passing(name, content))
    else:
        raise Refused("Something is in it that does not belong there: it was altered.")


def _whole(member: tarfile.TarInfo, content: IO[bytes]) -> bytes:
    if member.size > _MOST_IN_MEMORY:
        raise Refused(f"{member.name} is larger than any book makes it: it was altered.")
    return content.read()


class _Found:
    """What has been read so far, as the manifest tells it."""

    def __init__(self) -> None:
        self._counts: dict[str, int] = defaultdict(int)
        self._sums: dict[str, Any] = defaultdict(hashlib.sha256)
        self._files: dict[str, OfFile] = {}

    def add_rows(self, table: str, lines: bytes) -> None:
        self._counts[table] += lines.count(b"\n")
        self._sums[table].update(lines)

    def passing(self, name: str, content: IO[bytes]) -> Iterator[bytes]:
        total, size = hashlib.sha256(), 0
        while chunk := content.read(_CHUNK):
            total.update(chunk)
            size += len(chunk)
            yield chunk
        self._files[name] = OfFile(size, total.hexdigest())

    def check(self, manifest: Manifest) -> None:
        """Raise Refused unless all is there, nothing besides, and every sum is right."""
        tables = {name: (self._counts[name], self._sums[name].hexdigest()) for name in manifest.tables}
        for name, of in manifest.tables.items():
            if tables[name] != (of.rows, of.sha256):
                raise Refused(f"The rows of {name} are not those that were backed up: it was altered.")
        if set(self._counts) - set(manifest.tables) or self._files != manifest.files:
            raise Refused("Its files are not those that were backed up: it was altered.")
