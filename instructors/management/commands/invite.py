"""Invite somebody from the server: so the first coordinator comes into a new book."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import CommandParser
from django.utils import timezone

from config.commands import BookCommand, DataSaysNo, email
from config.showing import day
from instructors.actions import MailRefused, invite_from_server, mail_invitation
from instructors.models import Invitation, Role


class Command(BookCommand):
    help = "Invite somebody, and print the link with which they join; it is mailed too, if mail is sent."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("email", type=email, help="the address they will sign in with")
        parser.add_argument("--coordinator", action="store_true", help="as a coordinator, who can invite the others")
        parser.add_argument("--name", help="their name, which they may change as they join; default: from the address")

    def handle(self, *args: Any, email: str, coordinator: bool, name: str | None, **options: Any) -> None:
        role = Role.COORDINATOR if coordinator else Role.MEMBER
        try:
            invitation, link = invite_from_server(email=email, name=name or email.partition("@")[0], role=role)
        except ValidationError as refusal:
            raise DataSaysNo(*refusal.messages) from None
        is_mailed = settings.EMAIL_IS_SENT and self._mailed(invitation, link)
        if options["json"]:
            self.print_json({"email": email, "role": role, "link": link, "mailed": is_mailed})
            return
        self.stdout.write(f"{link}\n")
        mailed = "It was mailed to them too." if is_mailed else f"Nothing was mailed: give it to {email} yourself."
        until = day(timezone.localdate(invitation.expires_at))
        self.stdout.write(f"Whoever opens this link joins as a {role.label.lower()}, once, until {until}. {mailed}")

    def _mailed(self, invitation: Invitation, link: str) -> bool:
        try:
            mail_invitation(invitation, link)
        except MailRefused as refusal:
            self.stderr.write(f"The mail server did not take the invitation: {refusal}")
            return False
        return True
