"""What the book finds on its own machine: folders, room on the disk, libraries and static files."""

import os
import pwd
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.storage import staticfiles_storage

from config.disk import room_left, too_full
from config.doctor.wrong import Wrong
from config.files import require_writable
from config.pdf import PACKAGES, CannotPrint, try_printing


def folders() -> str:
    """Whether the account that asks, which ought to be the book's, can write where the book does."""
    used = _folders()
    for folder in used:
        require_writable("DATA_DIR", folder)
    for path in (*used, *(path for folder in used for path in folder.iterdir())):
        if path.lstat().st_uid != os.geteuid():
            raise Wrong(
                f"{path} belongs to {_account(path.lstat().st_uid)}, and this is {_account(os.geteuid())}: run the book"
                " and its commands by one account, to which DATA_DIR and all in it belongs (chown -R)."
            )
    return f"The book can write into {', '.join(map(str, (*used, *_for_backups())))}."


def _for_backups() -> Iterator[Path]:
    """The folder for backups, if there is to be one; whether it overlaps the book's files is asked at every start."""
    folder = settings.BACKUP_FOLDER
    if not folder:
        return
    if not folder.is_dir():
        raise Wrong(f"BACKUP_FOLDER: there is no folder {folder} here. Is it mounted where backups are made?")
    require_writable("BACKUP_FOLDER", folder)
    yield folder


def _folders() -> list[Path]:
    """Those that are written to: on a server that may be the folder of photos alone."""
    files = [Path(settings.MEDIA_ROOT), Path(settings.FILE_UPLOAD_TEMP_DIR)]
    return [Path(settings.DATA_DIR), *files] if settings.EMBEDDED else files


def _account(number: int) -> str:
    try:
        return pwd.getpwuid(number).pw_name
    except KeyError:
        return f"account {number}"


def disk() -> str:
    """Whether there is room for what members add."""
    if words := too_full():
        raise Wrong(words)
    return room_left()


def printing() -> str:
    """Whether PDFs can be made."""
    try:
        try_printing()
    except CannotPrint as error:
        raise Wrong(
            "PDFs cannot be made, all else works. As root on Debian or Ubuntu:"
            f" apt-get install -y --no-install-recommends {PACKAGES}"
        ) from error
    return "PDFs can be made."


def static_files() -> str:
    """Whether those of this release are collected."""
    if not settings.STATIC_FILES_COLLECTED:
        return "Served as they are where nobody has collected them; `make run` does."
    collected = getattr(staticfiles_storage, "hashed_files", {})
    for name, changed_at in _own_files():
        if name not in collected or Path(settings.STATIC_ROOT, name).stat().st_mtime < changed_at:
            raise Wrong(f"{name} is not collected as it is now: run `manage.py collectstatic --clear --no-input`.")
    return f"{len(collected)} are collected in {settings.STATIC_ROOT}."


def _own_files() -> Iterator[tuple[str, float]]:
    for finder in get_finders():
        for name, storage in finder.list([]):
            yield name, Path(storage.path(name)).stat().st_mtime
