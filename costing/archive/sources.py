"""The files of an archive, out of a folder or a zip, as bytes. Nothing is ever unpacked onto the disk."""

import zlib
from pathlib import Path, PurePosixPath
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from costing.archive.faults import WHOLE_FILE, Fault, plain
from costing.archive.tables import TABLE_OF

#: Bytes of all files together, unpacked: some two million rows. A small zip may claim far more than that.
LARGEST_ARCHIVE = 200 * 1024 * 1024
#: Left in folders and zips by the systems they were made on.
_LITTER = {"__MACOSX", "Thumbs.db", "desktop.ini"}
_UNREADABLE = (OSError, RuntimeError, EOFError, BadZipFile, zlib.error)

Files = dict[str, bytes]


def read_files(path: Path) -> tuple[Files, list[Fault]]:
    """The archive's files by name, and what is wrong with the folder or zip itself."""
    faults: list[Fault] = []
    try:
        if path.is_dir():
            return _read_folder(path, faults), faults
        with ZipFile(path) as archive:
            return _read_zip(path.name, archive, faults), faults
    except _UNREADABLE:
        return {}, [_fault(path.name, "is not a folder or a zip file that can be read")]


def _fault(name: str, words: str) -> Fault:
    return Fault(plain(name, longest=200), 1, WHOLE_FILE, words)


def _unknown(name: str) -> Fault:
    return _fault(name, f"is not a file of the archive; those are {', '.join(TABLE_OF)}")


def is_litter(*parts: str) -> bool:
    """Whether a file of this name, or in a folder of it, is nobody's: hidden, or made by the system."""
    return any((part.startswith(".") and part != "..") or part in _LITTER for part in parts)


def _is_too_large(name: str, size: int, faults: list[Fault]) -> bool:
    if size > LARGEST_ARCHIVE:
        faults.append(_fault(name, f"holds more than {LARGEST_ARCHIVE // 1024**2} MB; nothing of it was read"))
    return size > LARGEST_ARCHIVE


def _read_folder(folder: Path, faults: list[Fault]) -> Files:
    found = sorted(entry for entry in folder.iterdir() if not is_litter(entry.name))
    known = [entry for entry in found if entry.name in TABLE_OF and entry.is_file()]
    faults += [_unknown(entry.name) for entry in found if entry not in known]
    if _is_too_large(folder.name, sum(entry.stat().st_size for entry in known), faults):
        return {}
    files: Files = {}
    for entry in known:
        try:
            files[entry.name] = entry.read_bytes()
        except OSError as error:
            faults.append(_fault(entry.name, f"cannot be read: {error.strerror}"))
    return files


def _read_zip(zip_name: str, archive: ZipFile, faults: list[Fault]) -> Files:
    members = [info for info in archive.infolist() if not info.is_dir()]
    named = [(PurePosixPath(info.filename).parts, info) for info in members]
    named = [(parts, info) for parts, info in named if not is_litter(*parts)]
    tops = {parts[0] if len(parts) > 1 else "" for parts, _ in named}
    if len(tops) == 1 and tops.isdisjoint({"", "..", "/"}):  # a zipped folder: all of it lies in that one
        named = [(parts[1:], info) for parts, info in named]
    if _is_too_large(zip_name, sum(info.file_size for _, info in named), faults):
        return {}
    files: Files = {}
    for parts, info in named:
        name = "/".join(parts)
        if name not in TABLE_OF:
            faults.append(_unknown(name))
        elif name in files:
            faults.append(_fault(name, "is in the zip file twice"))
        else:
            files[name] = _unpacked(archive, info, name, faults)
    return files


def _unpacked(archive: ZipFile, info: ZipInfo, name: str, faults: list[Fault]) -> bytes:
    locked = info.flag_bits & 0x1
    if locked or info.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
        how = "locked by a password" if locked else "packed in an unusual way"
        faults.append(_fault(name, f"is {how}; zip the folder again in the ordinary way"))
        return b""
    try:
        with archive.open(info) as packed:
            # With a length no more is unpacked than the zip claims for the file, and that was counted.
            return packed.read(info.file_size + 1)
    except _UNREADABLE:
        faults.append(_fault(name, "cannot be unpacked: the zip file is damaged"))
        return b""
