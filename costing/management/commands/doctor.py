"""``manage.py doctor``: what is right, what is wrong, and what to do."""

from dataclasses import asdict
from typing import Any

from django.core.management.base import CommandParser

from config.commands import BookCommand, DataSaysNo, email
from config.doctor import examine


class Command(BookCommand):
    help = "Look at settings, servers, folders, disk, clock and mail, and say of each what is right or what to do."
    # They are among what is to be found out, and come with a traceback.
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--mail", type=email, metavar="ADDRESS", help="send a mail to this address")

    def handle(self, *args: Any, mail: str | None, **options: Any) -> None:
        found = []
        for finding in examine(mail_to=mail):
            found.append(finding)
            if not options["json"]:
                # At once: one that waits for a server must not keep the others back.
                self.stdout.write(f"{'right' if finding.is_right else 'WRONG'}  {finding.what:<12}  {finding.words}")
                self.stdout.flush()
        wrong = [finding.what for finding in found if not finding.is_right]
        if options["json"]:
            self.print_json({"right": not wrong, "checks": [asdict(finding) for finding in found]})
        if wrong:
            raise DataSaysNo(f"{len(wrong)} of {len(found)} are wrong: {', '.join(wrong)}.")
