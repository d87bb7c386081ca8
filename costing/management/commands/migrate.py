"""Django's ``migrate``, run by one process at a time."""

from typing import Any

from django.core.management.commands import migrate

from config import release


class Command(migrate.Command):
    help = f"{migrate.Command.help} One process at a time does it; the next finds it done."

    def handle(self, *args: Any, **options: Any) -> None:
        if options["plan"] or options["check_unapplied"]:
            super().handle(*args, **options)  # which only looks
            return
        with release.migrating(self.stdout.write if options["verbosity"] else lambda words: None):
            super().handle(*args, **options)
