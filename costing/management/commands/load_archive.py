"""``manage.py load_archive PATH``: load an archive into the book, all of it or nothing."""

from argparse import ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from config import showing
from config.commands import BookCommand, DataSaysNo
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import Loaded, load
from costing.closing import close_past_months


def _existing(text: str) -> Path:
    path = Path(text)
    if not path.exists():
        raise ArgumentTypeError(f"there is no folder or file {text}")
    return path


class Command(BookCommand):
    """Loads a folder or zip of CSV files; on any fault, it lists every fault and loads nothing.

    What was loaded and can hardly be right is listed on standard error, and is no fault.
    """

    help = "Load an archive (a folder or zip of CSV files): all of it, or nothing and a list of what is wrong."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("path", metavar="PATH", type=_existing, help="the archive, a folder or a zip file")
        parser.add_argument("--close", action="store_true", help="then close the months past their closing day")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            loaded = load(Path(options["path"]))
        except ArchiveRefused as refusal:
            raise DataSaysNo(*refusal.lines) from refusal
        closed = close_past_months(timezone.localdate()) if options["close"] else []
        for line in loaded.doubts:
            self.stderr.write(line)
        if options["json"]:
            months = {"closed": [f"{month:%Y-%m}" for month in closed]} if options["close"] else {}
            self.print_json({"loaded": loaded.added, "already_known": loaded.already_known, **months})
        else:
            self._print_for_a_person(loaded)
            if closed:
                self.stdout.write(f"Months closed: {len(closed)}, the last one {showing.month(closed[-1])}")

    def _print_for_a_person(self, loaded: Loaded) -> None:
        rows = [(file, count, loaded.already_known[file]) for file, count in loaded.added.items()]
        self.print_table(("File", "Rows added", "Known already"), rows)
        if loaded.from_cover:
            self.stdout.write(f"Due items added from the cover of costs: {loaded.from_cover}")
