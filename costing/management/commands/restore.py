"""``manage.py restore FILE``: a backup becomes the book again, in an empty installation."""

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from config import showing
from config.backup import Refused, Restored, read_key, restore_from
from config.commands import BookCommand, DataSaysNo, store_words
from config.whole_files import StoreAway

_STREAM = "-"
_NAMED = 20


class Command(BookCommand):
    """Reads and checks all of a backup first; then it restores all of it or, on any fault, nothing."""

    help = "Restore a backup into an empty installation: all of it, or nothing and why not."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", metavar="FILE", help="the backup; - for standard input")
        parser.add_argument("--identity", metavar="PATH", type=Path, help="the file of the secret key (age)")

    def handle(self, *args: Any, file: str, identity: Path | None, **options: Any) -> None:
        try:
            key = identity and read_key(identity)
            if file == _STREAM:
                restored = restore_from(sys.stdin.buffer, key)
            else:
                with Path(file).open("rb") as backup:
                    restored = restore_from(backup, key)
        except Refused as refusal:
            raise DataSaysNo(f"Nothing was restored. {refusal}") from refusal
        except StoreAway as away:
            raise DataSaysNo(f"Nothing was restored. {store_words(away)}") from away
        except OSError as error:
            what = error.filename or file
            raise DataSaysNo(f"Nothing was restored. {what}: {error.strerror or error}") from error
        self._say(restored, as_json=options["json"])
        self.stderr.write(
            "Once it is started, this book sends e-mails to its members: stop the old one first, or for a trial leave "
            "EMAIL_URL and ALARM_URL unset."
        )

    def _say(self, restored: Restored, *, as_json: bool) -> None:
        for name in restored.missing[:_NAMED]:
            self.stderr.write(f"The book names a file that the backup does not have either: {name}")
        if not restored.has_own_key:
            self.stderr.write(
                "SECRET_KEY is not that of the book that was backed up. If you have that one, set it; else everybody "
                "signs in again, and authenticator apps and recovery codes must be set up again."
            )
        if as_json:
            self.print_json(
                {
                    "made_at": restored.made_at,
                    "rows": restored.rows,
                    "files": restored.files,
                    "missing": restored.missing,
                    "same_secret_key": restored.has_own_key,
                }
            )
            return
        self.print_table(("Table", "Rows"), ((name, rows) for name, rows in restored.rows.items() if rows))
        moment = timezone.localtime(restored.made_at)
        self.stdout.write(
            f"Restored as it was on {showing.day(moment.date())} at {moment:%H:%M}: "
            f"{showing.whole(sum(restored.rows.values()))} rows and {showing.whole(restored.files)} files"
        )
