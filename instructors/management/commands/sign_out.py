"""Sign members out from the server, after a lost phone or a break-in."""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from config.commands import BookCommand, DataSaysNo, email
from instructors.queries import member_with
from instructors.signing_in.actions import sign_out_everywhere


class Command(BookCommand):
    help = "End all sessions of one member, or of everybody."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("email", type=email, nargs="?", help="the member's address")
        parser.add_argument("--everybody", action="store_true", help="all members instead of one")

    def handle(self, *args: Any, email: str | None, everybody: bool, **options: Any) -> None:
        if bool(email) is everybody:
            raise CommandError("Give either a member's address or --everybody.", returncode=2)
        member = member_with(email) if email else None
        if email and member is None:
            raise DataSaysNo(f"No member has the address {email}.")
        count = sign_out_everywhere(member=member)
        if options["json"]:
            self.print_json({"member": member.email if member else None, "ended": count})
        else:
            self.stdout.write(f"Sessions ended: {count}.")
