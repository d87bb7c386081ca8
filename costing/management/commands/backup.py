"""``manage.py backup --to PATH``: the whole book as one file, while it is in use."""

import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from config import showing
from config.backup import Made, Refused, back_up_to, back_up_to_stream, make_key, new_key
from config.commands import BEING_MADE_READY, BookCommand, DataSaysNo, store_words
from config.release import is_being_migrated
from config.whole_files import StoreAway
from instructors.actions import note_backup

_STREAM = "-"
_NAMED = 20


class Command(BookCommand):
    """Writes rows, photos, receipts and papers to a file, or to standard output."""

    help = "Back up the whole book to one file, sealed to the key in BACKUP_RECIPIENT, while it is in use."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--to", metavar="PATH", help="the file to write; - for standard output")
        what.add_argument(
            "--new-key", metavar="PATH", help="write a new secret key, and print its public key; - for standard output"
        )
        parser.add_argument("--unencrypted", action="store_true", help="in clear, for whoever gets hold of the file")

    def handle(self, *args: Any, to: str | None, unencrypted: bool, **options: Any) -> None:
        if options["new_key"]:
            self._make_key(options["new_key"], as_json=options["json"])
        elif to:
            self._answer(to, unencrypted=unencrypted, as_json=options["json"])

    def _answer(self, to: str, *, unencrypted: bool, as_json: bool) -> None:
        if is_being_migrated():
            raise DataSaysNo(BEING_MADE_READY)
        recipient = "" if unencrypted else settings.BACKUP_RECIPIENT
        _check(to, may_be_clear=bool(recipient or unencrypted or settings.EMBEDDED), as_json=as_json)
        made = self._back_up(to, recipient)
        for name in made.missing[:_NAMED]:
            self.stderr.write(f"The book names a file that is not there: {name}")
        if len(made.missing) > _NAMED:
            self.stderr.write(f"Files that are not there: {len(made.missing)} in all")
        self._say(made, to, is_sealed=bool(recipient), as_json=as_json)

    def _back_up(self, to: str, recipient: str) -> Made:
        began = timezone.now()
        place = "standard output" if to == _STREAM else to
        try:
            made = back_up_to_stream(sys.stdout.buffer, recipient) if to == _STREAM else back_up_to(Path(to), recipient)
        except (Refused, OSError) as error:
            why = _why(error, place)
            self._note(began, place, error=why)
            raise DataSaysNo(why) from error
        self._note(made.made_at, place, size=made.size, sha256=made.sha256, missing=made.missing)
        return made

    def _note(self, made_at: datetime, place: str, **how: Any) -> None:
        if not note_backup(made_at=made_at, place=place, **how):
            self.stderr.write("That this backup was made could not be noted in the book.")

    def _say(self, made: Made, to: str, *, is_sealed: bool, as_json: bool) -> None:
        rows, how = sum(made.rows.values()), "sealed" if is_sealed else "in clear"
        if as_json:
            answer = {"path": to, "made_at": made.made_at, "sealed": is_sealed, "bytes": made.size}
            self.print_json(answer | {"rows": made.rows, "files": made.files, "missing": made.missing})
            return
        words = f"{showing.whole(rows)} rows and {showing.whole(made.files)} files, {filesizeformat(made.size)}, {how}"
        place = "standard output" if to == _STREAM else to
        (self.stderr if to == _STREAM else self.stdout).write(f"Backed up to {place}: {words}")

    def _make_key(self, to: str, *, as_json: bool) -> None:
        try:
            public = self._print_key() if to == _STREAM else make_key(Path(to))
        except FileExistsError as error:
            raise DataSaysNo(f"{to} is there already: a key is never written over.") from error
        except OSError as error:
            raise DataSaysNo(f"{to} cannot be written: {error.strerror}") from error
        if as_json and to != _STREAM:
            self.print_json({"path": to, "public_key": public})
        else:
            (self.stderr if to == _STREAM else self.stdout).write(f"BACKUP_RECIPIENT={public}")
        self.stderr.write(
            "Set this for the book. Keep the secret key away from its server, in two places: without it nobody can "
            "open a backup."
        )

    def _print_key(self) -> str:
        lines, public = new_key()
        self.stdout.write(lines, ending="")
        return public


def _why(error: Refused | OSError, place: str) -> str:
    match error:
        case Refused():
            return str(error)
        case StoreAway():
            return f"No backup was made. {store_words(error)}"
    return f"{place} cannot be written: {error.strerror or error}"


def _check(to: str, *, may_be_clear: bool, as_json: bool) -> None:
    if not may_be_clear:
        raise CommandError(
            "BACKUP_RECIPIENT is not set, and a backup in clear lets whoever gets hold of it read everything. "
            "`manage.py backup --new-key PATH` makes a key; --unencrypted does without.",
            returncode=2,
        )
    if to == _STREAM and as_json:
        raise CommandError("--json has no place beside a backup on standard output: name a file.", returncode=2)
    if to == _STREAM and sys.stdout.isatty():
        raise CommandError("A backup is no text for a terminal: send it to a file or a program.", returncode=2)
