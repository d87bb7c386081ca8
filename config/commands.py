"""What the book's commands share: how they read arguments, print the answer and exit.

Exit status: 0 done; 1 the data says no, with a reason a line on standard error; 2 wrong use.
"""

import json
import os
import re
import sys
from argparse import ArgumentTypeError
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.serializers.json import DjangoJSONEncoder
from django.db import OperationalError, ProgrammingError

from config import quantities
from config.broken import is_full
from config.release import is_being_migrated
from config.showing import on_one_line
from config.whole_files import StoreAway

#: While another process makes or changes the tables.
BEING_MADE_READY = "The book is being made ready. Try again in a minute."

_NUMBER = re.compile(r"[−-]?£?[0-9][0-9,.]*%?")


class DataSaysNo(CommandError):
    """The book's data does not allow this: exit status 1, with each reason on a line of its own."""

    def __init__(self, *reasons: str) -> None:
        super().__init__("\n".join(reasons), returncode=1)


def argument(read: Callable[[str], Any]) -> Callable[[str], Any]:
    """A type for ``add_argument`` made of a quantity's ``read``."""

    def take(text: str) -> Any:
        try:
            return read(text)
        except ValueError as wrong:
            raise ArgumentTypeError(f"{on_one_line(text, longest=40)!r} {wrong}") from None

    return take


#: Arguments that are a day as 2027-03-05, a month as 2027-03 (its first day is returned), or a member's address.
day, month, email = (argument(one.read) for one in (quantities.DAY, quantities.MONTH, quantities.EMAIL))


def store_words(away: StoreAway) -> str:
    """What is wrong with a store of files or backups, and what says more."""
    return f"{away.filename}: {away.strerror}. `manage.py doctor` says more."


class BookCommand(BaseCommand):
    """A command that prints a table for a person, or with ``--json`` one JSON object and nothing else."""

    _called_from_command_line: bool  # Django's own: False under call_command

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print one JSON object instead of a table")

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run the command. From a shell, an expected refusal is printed without a traceback."""
        try:
            return self._execute_on_a_ready_book(*args, **options)
        except DataSaysNo as refusal:
            if not self._called_from_command_line or options.get("traceback"):
                raise
            self.stderr.write(str(refusal))
            sys.exit(refusal.returncode)
        except BrokenPipeError:
            if not self._called_from_command_line:
                raise
            # Whoever read the answer has gone, as `head` does. The rest has nowhere to go, at the very end too.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(1)

    def _execute_on_a_ready_book(self, *args: Any, **options: Any) -> str | None:
        try:
            answer = super().execute(*args, **options)
            # What still waits to be printed, while what goes wrong with it can be met.
            sys.stdout.flush()
            return answer
        except StoreAway as away:
            raise DataSaysNo(store_words(away)) from away
        except (OperationalError, ProgrammingError) as error:
            if is_being_migrated():
                raise DataSaysNo(BEING_MADE_READY) from error
            what = str(error).splitlines()[0] if str(error) else type(error).__name__
            if is_full(error):
                raise DataSaysNo(
                    f"The disk of the book's database is full ({what}). Make room, then run it again."
                ) from error
            raise DataSaysNo(
                f"The book's database cannot be used ({what}). Have you run `manage.py migrate`?"
            ) from error

    def print_json(self, answer: dict[str, Any]) -> None:
        """Print ``answer`` as the one JSON object: days ISO, an absent figure null, money as strings."""
        self.stdout.write(json.dumps(answer, indent=2, cls=DjangoJSONEncoder))

    def print_table(self, headers: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
        """Print rows under their headers; None is blank, and columns of numbers are aligned right."""
        cells = [["" if cell is None else str(cell) for cell in row] for row in rows]
        columns = list(zip(headers, *cells, strict=True))
        widths = [max(map(len, column)) for column in columns]
        numeric = [_is_numeric(column[1:]) for column in columns]
        for line in (list(headers), ["-" * width for width in widths], *cells):
            placed = (
                cell.rjust(width) if right else cell.ljust(width)
                for cell, width, right in zip(line, widths, numeric, strict=True)
            )
            self.stdout.write("  ".join(placed).rstrip())


def _is_numeric(cells: Sequence[str]) -> bool:
    """Whether every filled cell is a number or a sum of money, and at least one is filled."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and all(_NUMBER.fullmatch(cell) for cell in filled)
