"""The site and its schedule in one process, with no other server."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from config.files_place import require_files
from config.release import bring_up_to_date
from config.server import DEFAULT_ADDRESS, EmbeddedServer


class Command(BaseCommand):
    help = "Serve the site with the schedule running: no broker, no other server."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("address", nargs="?", default=DEFAULT_ADDRESS, help=f"host:port, {DEFAULT_ADDRESS} if none")

    def handle(self, *args: Any, address: str, **options: Any) -> None:
        bring_up_to_date(self.stdout.write, may_migrate=settings.MIGRATE_AT_START)
        require_files()
        EmbeddedServer(address).run()
