"""The whole book as one file, and that file as a book again: rows, photos and papers, on either database.

A backup is a compressed tar: ``rows/TABLE/NUMBER`` holds rows, one JSON list a line; ``files/NAME`` is one of the
book's files; ``manifest.json`` comes last, with what must be there. It may be sealed to a public key (age). What the
book must never know twice is in it: notices, references, numbers that were given.
"""

from config.backup.drilling import Drilled, drill
from config.backup.faults import Busy, Refused
from config.backup.folder import clear_killed_drill
from config.backup.making import Made, back_up_to, back_up_to_stream, looks_like_backup
from config.backup.nightly import back_up_into
from config.backup.places import Folder, Place, place_of_backups
from config.backup.restoring import Restored, restore_from
from config.backup.sealing import make_key, new_key, read_key

__all__ = [
    "Busy",
    "Drilled",
    "Folder",
    "Made",
    "Place",
    "Refused",
    "Restored",
    "back_up_into",
    "back_up_to",
    "back_up_to_stream",
    "clear_killed_drill",
    "drill",
    "looks_like_backup",
    "make_key",
    "new_key",
    "place_of_backups",
    "read_key",
    "restore_from",
]
