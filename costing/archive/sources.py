"""Reads the files of an archive from a folder or a zip, as bytes. Nothing is ever unpacked to the disk."""

import stat
import zlib
from itertools import islice
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from config import budgets
from config.files import TooLarge, read_plain
from config.showing import on_one_line, whole
from costing.archive.faults import WHOLE_FILE, ArchiveFault
from costing.archive.tables import TABLE_OF

#: Files that operating systems leave in folders and zips.
_LITTER = {"__MACOSX", "Thumbs.db", "desktop.ini"}
_A_LINK = "is a link to another file; put the file itself there"
_UNREADABLE = (OSError, RuntimeError, EOFError, BadZipFile, zlib.error)

Files = dict[str, bytes]


def read_files(path: Path) -> tuple[Files, list[ArchiveFault]]:
    """Return the archive's files by name and the faults of the folder or zip itself; no files if it is too large."""
    faults: list[ArchiveFault] = []
    try:
        files = _read_folder(path, faults) if path.is_dir() else _read_packed(path, faults)
    except _UNREADABLE:
        return {}, [_fault(path.name, "is not a folder or a zip file that can be read")]
    line_count = sum(_line_count(data) for data in files.values())
    if line_count > budgets.ARCHIVE_LINES:
        has = f"has {whole(line_count)} lines, and the book loads {whole(budgets.ARCHIVE_LINES)} at once at the most"
        return {}, [*faults, _fault(path.name, f"{has}; nothing of it was loaded")]
    return files, faults


def _line_count(data: bytes) -> int:
    """Count the lines, however they end."""
    return data.count(b"\n") + data.count(b"\r") - data.count(b"\r\n")


def _fault(name: str, words: str) -> ArchiveFault:
    return ArchiveFault(on_one_line(name, longest=200), 1, WHOLE_FILE, words)


def _unknown(name: str) -> ArchiveFault:
    return _fault(name, f"is not a file of the archive; those are {', '.join(TABLE_OF)}")


def is_litter(*parts: str) -> bool:
    """Say whether a path of these parts is hidden or was left by an operating system."""
    return any((part.startswith(".") and part != "..") or part in _LITTER for part in parts)


def _too_large(name: str, most: int) -> ArchiveFault:
    return _fault(name, f"holds more than {most // 10**6} MB; nothing of it was loaded")


def _too_many(name: str) -> ArchiveFault:
    return _fault(name, f"holds more than {budgets.ARCHIVE_FILES} files; nothing of it was loaded")


def _read_folder(folder: Path, faults: list[ArchiveFault]) -> Files:
    found = list(islice(folder.iterdir(), budgets.ARCHIVE_FILES + 1))
    if len(found) > budgets.ARCHIVE_FILES:
        faults.append(_too_many(folder.name))
        return {}
    files: Files = {}
    left = budgets.ARCHIVE_BYTES
    for entry in sorted(entry for entry in found if not is_litter(entry.name)):
        if entry.name not in TABLE_OF or entry.is_dir():
            faults.append(_unknown(entry.name))
        elif entry.is_symlink():
            faults.append(_fault(entry.name, _A_LINK))
        else:
            try:
                files[entry.name] = read_plain(entry, most=left, follows_links=False)
            except TooLarge:
                faults.append(_too_large(folder.name, budgets.ARCHIVE_BYTES))
                return {}
            except OSError as error:
                faults.append(_fault(entry.name, f"cannot be read: {error.strerror}"))
            else:
                left -= len(files[entry.name])
    return files


def _read_packed(path: Path, faults: list[ArchiveFault]) -> Files:
    if not path.is_file():  # reading a pipe or a device would never end
        raise BadZipFile
    if path.stat().st_size > budgets.ZIP_BYTES:
        faults.append(_too_large(path.name, budgets.ZIP_BYTES))
        return {}
    with ZipFile(path) as archive:
        return _read_zip(path.name, archive, faults)


def _read_zip(zip_name: str, archive: ZipFile, faults: list[ArchiveFault]) -> Files:
    if len(archive.infolist()) > budgets.ARCHIVE_FILES:
        faults.append(_too_many(zip_name))
        return {}
    members = [info for info in archive.infolist() if not info.is_dir()]
    named = [(PurePosixPath(info.filename).parts, info) for info in members]
    named = [(parts, info) for parts, info in named if not is_litter(*parts)]
    tops = {parts[0] if len(parts) > 1 else "" for parts, _ in named}
    if len(tops) == 1 and tops.isdisjoint({"", "..", "/"}):  # a zipped folder: everything lies in it
        named = [(parts[1:], info) for parts, info in named]
    if sum(info.file_size for _, info in named) > budgets.ARCHIVE_BYTES:
        faults.append(_too_large(zip_name, budgets.ARCHIVE_BYTES))
        return {}
    files: Files = {}
    for parts, info in named:
        name = "/".join(parts)
        if name not in TABLE_OF:
            faults.append(_unknown(name))
        elif name in files:
            faults.append(_fault(name, "is in the zip file twice"))
        elif stat.S_ISLNK(info.external_attr >> 16):
            faults.append(_fault(name, _A_LINK))
        else:
            files[name] = _unpacked(archive, info, name, faults)
    return files


def _unpacked(archive: ZipFile, info: ZipInfo, name: str, faults: list[ArchiveFault]) -> bytes:
    locked = info.flag_bits & 0x1
    if locked or info.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
        how = "locked by a password" if locked else "packed in an unusual way"
        faults.append(_fault(name, f"is {how}; zip the folder again in the ordinary way"))
        return b""
    try:
        with archive.open(info) as packed:
            # The length limits unpacking to the size that the zip claims, which was counted above.
            return packed.read(info.file_size + 1)
    except _UNREADABLE:
        faults.append(_fault(name, "cannot be unpacked: the zip file is damaged"))
        return b""
