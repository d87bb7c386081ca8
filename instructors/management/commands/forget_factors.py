"""Remove a member's second step, for somebody who has lost their phone and their recovery codes."""

from typing import Any

from allauth.account.adapter import get_adapter
from django.core.management.base import CommandParser
from django.utils import timezone

from config.commands import BookCommand, DataSaysNo, email
from instructors.queries import member_with
from instructors.signing_in.actions import forget_factors


class Command(BookCommand):
    help = "Remove a member's passkeys, authenticator app and recovery codes, and tell them by e-mail."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("email", type=email, help="the member's address")

    def handle(self, *args: Any, email: str, **options: Any) -> None:
        member = member_with(email)
        if member is None:
            raise DataSaysNo(f"No member has the address {email}.")
        count = forget_factors(member=member)
        if count:
            context = {"timestamp": timezone.now(), "device": "a command on the server"}
            get_adapter().render_mail("mfa/email/factors_forgotten", member.email, context).send()
        if options["json"]:
            self.print_json({"member": member.email, "forgotten": count})
        else:
            self.stdout.write(f"{member.name} now signs in without a second step. Removed: {count}.")
