"""Writes an archive to the disk, as a folder or a zip. Pictures are copied, never held in the memory together."""

import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from shutil import copyfileobj
from typing import IO
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from config.whole_files import KeptFile
from costing.archive.receipts import PICTURES_FOLDER
from costing.archive.sources import is_litter
from costing.archive.tables import TABLE_OF

_NO_TIME = (1980, 1, 1, 0, 0, 0)
_ON_UNIX, _ONLY_FOR_ITS_OWNER = 3, 0o600
#: A picture as an archive names it.
_PICTURE = re.compile(rf"{PICTURES_FOLDER}/[0-9a-f-]{{36}}\.jpg")

#: The bytes of a file, or where they lie.
Content = bytes | KeptFile


class NotOurs(Exception):
    """What stands at the path is not an archive and is left alone; the message says what it is."""


def save(files: Mapping[str, Content], path: Path) -> list[str]:
    """Write the files as a zip if ``path`` ends in .zip, else into a folder; only its owner can read them.

    Only an earlier archive is overwritten. Returns the names of other files in the folder, which stay as they are.
    Raises NotOurs if ``path`` is another sort of file, and OSError if it cannot be written.
    """
    if path.suffix.lower() == ".zip":
        _refuse_other_zip(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace({path: files})
        return []
    if path.exists() and not path.is_dir():
        raise NotOurs(f"{path} is a file; an archive is a folder, or a file whose name ends in .zip.")
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    if any(_PICTURE.fullmatch(name) for name in files):
        (path / PICTURES_FOLDER).mkdir(mode=0o700, exist_ok=True)
    _replace({path / name: content for name, content in files.items()})
    others = [name for name in _names_in(path) if name not in files]
    for name in others:
        if _is_ours(name):
            (path / name).unlink(missing_ok=True)  # left by an earlier archive: this book no longer has its rows
    return sorted(name for name in others if not _is_ours(name) and not is_litter(*name.split("/")))


def _is_ours(name: str) -> bool:
    return name in TABLE_OF or bool(_PICTURE.fullmatch(name))


def _names_in(folder: Path) -> list[str]:
    pictures = folder / PICTURES_FOLDER
    has_pictures = pictures.is_dir() and not pictures.is_symlink()
    names = [name for name in os.listdir(folder) if not (has_pictures and name == PICTURES_FOLDER)]
    return names + ([f"{PICTURES_FOLDER}/{name}" for name in os.listdir(pictures)] if has_pictures else [])


def _refuse_other_zip(path: Path) -> None:
    if not path.exists() or (path.is_file() and not path.stat().st_size):
        return
    try:
        with ZipFile(path) as archive:
            is_archive = all(map(_is_ours, archive.namelist()))
    except (OSError, BadZipFile):
        is_archive = False
    if not is_archive:
        raise NotOurs(f"{path} exists and is not an archive of this book; it was left as it is.")


def _replace(targets: Mapping[Path, Content | Mapping[str, Content]]) -> None:
    """Replace the files once all the new bytes are on the disk, so that a full disk leaves the old files whole.

    Several files by their names are written as one zip.
    """
    staged: list[tuple[str, Path]] = []
    try:
        for path, content in targets.items():
            handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
            staged.append((temporary, path))
            with os.fdopen(handle, "wb") as file:
                if isinstance(content, Mapping):
                    write_zip(content, file)
                else:
                    _copy(content, file)
        for temporary, path in staged:
            os.replace(temporary, path)
    finally:
        for temporary, _ in staged:
            Path(temporary).unlink(missing_ok=True)


def _copy(content: Content, into: IO[bytes]) -> None:
    if isinstance(content, bytes):
        into.write(content)
    else:
        with content.open() as file:
            copyfileobj(file, into)


def write_zip(files: Mapping[str, Content], into: IO[bytes]) -> None:
    """Write the files as one zip; the same files always give the same bytes. Raises OSError if one is gone."""
    with ZipFile(into, "w") as archive:
        for name, content in files.items():
            info = ZipInfo(name, _NO_TIME)
            info.create_system, info.external_attr = _ON_UNIX, _ONLY_FOR_ITS_OWNER << 16
            # A picture is packed already.
            info.compress_type = ZIP_DEFLATED if isinstance(content, bytes) else ZIP_STORED
            with archive.open(info, "w") as packed:
                _copy(content, packed)
