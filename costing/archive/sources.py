"""Reads the files of an archive from a folder or a zip, as bytes. Nothing is ever unpacked to the disk.

Pictures are too large to be read all at once: each is read when it is asked for.
"""

import io
import stat
import zlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from itertools import islice
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from config import budgets
from config.files import TooLarge, read_plain
from config.showing import on_one_line, whole
from costing.archive.faults import WHOLE_FILE, ArchiveFault
from costing.archive.receipts import PICTURES_FOLDER
from costing.archive.tables import TABLE_OF

#: Files that operating systems leave in folders and zips.
_LITTER = {"__MACOSX", "Thumbs.db", "desktop.ini"}
#: What a member's own download holds beside the archive; see ``beside``.
README, BESIDE = "README.txt", "beside"
_HEAVY = f"holds more than {budgets.RECEIPT_BYTES // 10**6} MB; no picture of this book does"
#: How many bytes are unpacked at once.
_PIECE = 1_000_000
_A_LINK = "is a link to another file; put the file itself there"
_UNREADABLE = (OSError, RuntimeError, EOFError, BadZipFile, zlib.error)

Files = dict[str, bytes]
#: By its name, what reads a picture. It raises Unreadable.
Pictures = dict[str, Callable[[], bytes]]


class Unreadable(ValueError):
    """A file cannot be read; the message continues its name."""


class _ListTooLong(ValueError):
    """The list of contents of a zip would fill the memory."""


@contextmanager
def opened(path: Path) -> Iterator[tuple[Files, Pictures, list[ArchiveFault]]]:
    """Give the archive's files by name, its pictures, and the faults of the folder or zip itself.

    There is nothing but faults if it is too large. Pictures can be read until it is closed.
    """
    with ExitStack() as stack:
        faults: list[ArchiveFault] = []
        try:
            files, pictures = _read_folder(path, faults) if path.is_dir() else _read_packed(path, stack, faults)
        except _UNREADABLE:
            faults = [_fault(path.name, "is not a folder or a zip file that can be read")]
            files, pictures = {}, {}
        if too_long := _too_many_lines(path, files):
            files, pictures = {}, {}
            faults.append(too_long)
        yield files, pictures, faults


def _too_many_lines(path: Path, files: Files) -> ArchiveFault | None:
    line_count = sum(_line_count(data) for data in files.values())
    if line_count > budgets.ARCHIVE_LINES:
        has = f"has {whole(line_count)} lines, and the book loads {whole(budgets.ARCHIVE_LINES)} at once at the most"
        return _fault(path.name, f"{has}; nothing of it was loaded")
    return None


def _line_count(data: bytes) -> int:
    """Count the lines, however they end."""
    return data.count(b"\n") + data.count(b"\r") - data.count(b"\r\n")


def _fault(name: str, words: str) -> ArchiveFault:
    return ArchiveFault(on_one_line(name, longest=200), 1, WHOLE_FILE, words)


def _unknown(name: str) -> ArchiveFault:
    return _fault(name, f"is not a file of the archive; those are {', '.join(TABLE_OF)}")


def is_litter(*parts: str) -> bool:
    """Say whether a path of these parts is hidden, was left by an operating system or lies beside an archive."""
    if parts[0] == BESIDE or parts == (README,):
        return True
    return any((part.startswith(".") and part != "..") or part in _LITTER for part in parts)


def _too_large(name: str, most: int) -> ArchiveFault:
    return _fault(name, f"holds more than {most // 10**6} MB; nothing of it was loaded")


def _too_many(name: str, most: int, what: str) -> ArchiveFault:
    return _fault(name, f"holds more than {whole(most)} {what}; nothing of it was loaded")


def _read_folder(folder: Path, faults: list[ArchiveFault]) -> tuple[Files, Pictures]:
    found = list(islice(folder.iterdir(), budgets.ARCHIVE_FILES + 1))
    if len(found) > budgets.ARCHIVE_FILES:
        faults.append(_too_many(folder.name, budgets.ARCHIVE_FILES, "files"))
        return {}, {}
    files: Files = {}
    pictures: Pictures = {}
    left = budgets.ARCHIVE_BYTES
    for entry in sorted(entry for entry in found if not is_litter(entry.name)):
        if entry.name == PICTURES_FOLDER and entry.is_dir() and not entry.is_symlink():
            pictures = _pictures_in(entry, faults)
        elif entry.name not in TABLE_OF or entry.is_dir():
            faults.append(_unknown(entry.name))
        elif entry.is_symlink():
            faults.append(_fault(entry.name, _A_LINK))
        else:
            try:
                files[entry.name] = read_plain(entry, most=left, follows_links=False)
            except TooLarge:
                faults.append(_too_large(folder.name, budgets.ARCHIVE_BYTES))
                return {}, {}
            except OSError as error:
                faults.append(_fault(entry.name, f"cannot be read: {error.strerror}"))
            else:
                left -= len(files[entry.name])
    return files, pictures


def _pictures_in(folder: Path, faults: list[ArchiveFault]) -> Pictures:
    found = [path for path in islice(folder.iterdir(), budgets.ARCHIVE_PICTURES + 1) if not is_litter(path.name)]
    if len(found) > budgets.ARCHIVE_PICTURES:
        faults.append(_too_many(folder.name, budgets.ARCHIVE_PICTURES, "pictures"))
        return {}
    return {f"{PICTURES_FOLDER}/{path.name}": partial(_picture_at, path) for path in found}


def _picture_at(path: Path) -> bytes:
    try:
        return read_plain(path, most=budgets.RECEIPT_BYTES, follows_links=False)
    except TooLarge:
        raise Unreadable(_HEAVY) from None
    except OSError as error:
        raise Unreadable(f"cannot be read: {error.strerror}") from None


class _Zip(io.BufferedReader):
    """A zip file whose list of contents, which is read at one go, may not fill the memory."""

    def read(self, size: int | None = -1, /) -> bytes:
        if size is not None and size > budgets.ZIP_LIST_BYTES:
            raise _ListTooLong
        return super().read(size)


def _read_packed(path: Path, stack: ExitStack, faults: list[ArchiveFault]) -> tuple[Files, Pictures]:
    if not path.is_file():  # reading a pipe or a device would never end
        raise BadZipFile
    try:
        packed = stack.enter_context(_Zip(io.FileIO(path)))
        archive = stack.enter_context(ZipFile(packed))
    except _ListTooLong:
        has = f"has a list of contents of more than {budgets.ZIP_LIST_BYTES // 10**6} MB"
        faults.append(_fault(path.name, f"{has}; nothing of it was loaded"))
        return {}, {}
    return _read_zip(path.name, archive, faults)


def _read_zip(zip_name: str, archive: ZipFile, faults: list[ArchiveFault]) -> tuple[Files, Pictures]:
    if len(archive.infolist()) > budgets.ARCHIVE_FILES + budgets.ARCHIVE_PICTURES:
        faults.append(_too_many(zip_name, budgets.ARCHIVE_FILES, "files"))
        return {}, {}
    named = _named(archive)
    of_pictures = {"/".join(parts): info for parts, info in named if parts[0] == PICTURES_FOLDER and len(parts) == 2}
    others = [("/".join(parts), info) for parts, info in named if "/".join(parts) not in of_pictures]
    for infos, most, size, what in (
        (of_pictures.values(), budgets.ARCHIVE_PICTURES, budgets.ARCHIVE_PICTURES_BYTES, "pictures"),
        ([info for _, info in others], budgets.ARCHIVE_FILES, budgets.ARCHIVE_BYTES, "files"),
    ):
        if len(infos) > most:
            faults.append(_too_many(zip_name, most, what))
            return {}, {}
        if sum(info.file_size for info in infos) > size:
            faults.append(_too_large(zip_name, size))
            return {}, {}
    pictures: Pictures = {name: partial(_picture_in, archive, info) for name, info in of_pictures.items()}
    return _files_in(archive, others, faults), pictures


def _named(archive: ZipFile) -> list[tuple[tuple[str, ...], ZipInfo]]:
    """Return the parts of the name of each file of a zip, without what operating systems add."""
    members = [info for info in archive.infolist() if not info.is_dir()]
    named = [(PurePosixPath(info.filename).parts, info) for info in members]
    named = [(parts, info) for parts, info in named if parts and not is_litter(*parts)]
    tops = {parts[0] if len(parts) > 1 else "" for parts, _ in named}
    if len(tops) == 1 and tops.isdisjoint({"", "..", "/"}):  # a zipped folder: everything lies in it
        named = [(parts[1:], info) for parts, info in named]
    return named


def _files_in(archive: ZipFile, named: list[tuple[str, ZipInfo]], faults: list[ArchiveFault]) -> Files:
    files: Files = {}
    for name, info in named:
        if name not in TABLE_OF:
            faults.append(_unknown(name))
        elif name in files:
            faults.append(_fault(name, "is in the zip file twice"))
        elif stat.S_ISLNK(info.external_attr >> 16):
            faults.append(_fault(name, _A_LINK))
        else:
            try:
                files[name] = _unpacked(archive, info)
            except Unreadable as fault:
                files[name] = b""
                faults.append(_fault(name, str(fault)))
    return files


def _picture_in(archive: ZipFile, info: ZipInfo) -> bytes:
    if info.file_size > budgets.RECEIPT_BYTES:
        raise Unreadable(_HEAVY)
    return _unpacked(archive, info)


def _unpacked(archive: ZipFile, info: ZipInfo) -> bytes:
    locked = info.flag_bits & 0x1
    if locked or info.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
        how = "locked by a password" if locked else "packed in an unusual way"
        raise Unreadable(f"is {how}; zip the folder again in the ordinary way")
    try:
        with archive.open(info) as packed:
            # The length limits unpacking to the size that the zip claims, which was counted above.
            return b"".join(iter(partial(packed.read, _PIECE), b""))
    except _UNREADABLE:
        raise Unreadable("cannot be unpacked: the zip file is damaged") from None
