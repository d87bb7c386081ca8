"""``manage.py dump_archive PATH``: write the whole book, or one member's part of it, as an archive."""

from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from config.commands import BookCommand, DataSaysNo, email
from config.whole_files import StoreAway
from costing.archive.dumping import dump
from costing.archive.packing import NotOurs, save
from costing.management import member_named


class Command(BookCommand):
    """Writes the book as a folder or zip of CSV files that ``load_archive`` reads."""

    help = "Write the book as an archive: a zip if PATH ends in .zip, else a folder of CSV files."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("path", metavar="PATH", type=Path, help="a folder, or a file that ends in .zip")
        parser.add_argument("--member", type=email, metavar="EMAIL", help="only this member's own records")

    def handle(self, *args: Any, **options: Any) -> None:
        path, address = Path(options["path"]), options["member"]
        made = dump(None if address is None else member_named(address))
        try:
            others = save(made.contents, path)
        except NotOurs as refusal:
            raise CommandError(str(refusal), returncode=2) from refusal
        except StoreAway:
            raise
        except OSError as error:
            raise DataSaysNo(f"{path} cannot be written: {error.strerror}") from error
        for name in others:
            self.stderr.write(f"{name} is still in {path}; load_archive refuses a folder with such a file in it.")
        if made.lost:
            self.stderr.write(f"Receipts left out because their pictures are no longer there: {made.lost}")
        if options["json"]:
            self.print_json({"path": str(path), "rows": made.row_count})
        else:
            self.print_table(("File", "Rows"), made.row_count.items())
            self.stdout.write(f"Written to {path}")
