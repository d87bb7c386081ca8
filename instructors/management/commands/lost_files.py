"""``manage.py lost_files``: the files that the book names and that are not there; with ``--record``, lost for good."""

from typing import Any

from django.core.management.base import CommandParser

from config.commands import BookCommand, DataSaysNo
from config.files_place import missing_files, stayed_on_disk
from instructors.actions import record_lost_files
from instructors.queries import lost_files


class Command(BookCommand):
    help = "List the photos, receipts and papers whose files are not there; --record says that they are lost for good."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--record", action="store_true", help="record them as lost for good, so that no backup is wrong for them"
        )

    def handle(self, *args: Any, record: bool, **options: Any) -> None:
        missing = missing_files()
        if record:
            if words := stayed_on_disk(missing):
                raise DataSaysNo(f"Nothing was recorded. {words}")
            record_lost_files(missing)
        lost = lost_files() & missing
        if options["json"]:
            self.print_json({"missing": sorted(missing), "recorded": sorted(lost)})
            return
        self.print_table(("File", "Lost for good"), ((name, "yes" if name in lost else "") for name in sorted(missing)))
        self.stdout.write(f"Files that are not there: {len(missing)}; recorded as lost for good: {len(lost)}")
