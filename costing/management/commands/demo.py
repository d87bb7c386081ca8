"""``manage.py demo``: a made-up co-op, ready to look at."""

import secrets
import tempfile
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandParser
from django.utils import timezone

from config import showing
from config.commands import BookCommand, DataSaysNo
from config.server import DEFAULT_ADDRESS, shown
from costing.closing import last_month_to_close
from costing.core.periods import months_ending
from costing.demo.book import write_demo_archive
from costing.demo.cast import COORDINATOR, DOMAIN, MEMBER
from costing.demo.offers import make_comparisons
from costing.demo.pot import make_pot
from costing.demo.receipts import make_receipts
from costing.demo.takings import make_plan
from instructors.actions import give_password
from instructors.models import Member
from instructors.queries import everybody, open_invitations

SIGN_IN_AS = {"a coordinator": COORDINATOR, "a member": MEMBER}


class Command(BookCommand):
    help = "Fill an empty book with a made-up co-op, print its figures, and serve it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop after printing")
        parser.add_argument("--address", default=DEFAULT_ADDRESS, help="host:port to serve at")

    def handle(self, *args: Any, no_serve: bool, address: str, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        addresses = [*(member.email for member in everybody()), *(one.email for one in open_invitations())]
        if not all(address.lower().endswith(f"@{DOMAIN}") for address in addresses):
            raise DataSaysNo("This book has real members: the demonstration needs an empty one.")
        call_command("flush", interactive=False, verbosity=0)
        today = timezone.localdate()
        self.stdout.write("Making up a co-op of nine members with 18 months of records ...")
        with tempfile.TemporaryDirectory() as folder:
            write_demo_archive(Path(folder), today)
            # What is odd in it is meant to be: a page shows it.
            call_command("load_archive", folder, "--close", stdout=self.stdout, stderr=StringIO())
        make_comparisons(_member(MEMBER), today)
        make_receipts(_member(MEMBER))
        make_plan(_member(MEMBER))
        make_pot(_member(MEMBER), today)
        self._show(today)
        password = self._let_in()
        self._say_how(address, password, serving=not no_serve)
        if not no_serve:
            call_command("serve", address)

    def _show(self, today: date) -> None:
        month = last_month_to_close(today)
        year = months_ending(month, 12)
        self._title("What each car cost, 12 months")
        call_command("running_cost", "--from", f"{year.first}", "--to", f"{year.last}", stdout=self.stdout)
        for span in ("month", "year"):
            self._title("The group's median")
            call_command("group_median", "--month", f"{month:%Y-%m}", "--span", span, stdout=self.stdout)
        self._title(f"What is due, {showing.day(today)}")
        call_command("whats_due", "--on", f"{today}", stdout=self.stdout)

    def _title(self, words: str) -> None:
        self.stdout.write(f"\n== {words} ==\n")

    def _let_in(self) -> str:
        """Give the two demonstration accounts a new password, of which only hashes are stored."""
        password = f"{secrets.token_hex(3)}-{secrets.token_hex(3)}"
        for email in SIGN_IN_AS.values():
            give_password(member=_member(email), password=password)
        return password

    def _say_how(self, address: str, password: str, *, serving: bool) -> None:
        self._title("Look at it")
        if serving:
            self.stdout.write(f"Site       {shown(address)}/   (Ctrl-C stops it; the schedule runs beside it)")
        for who, email in SIGN_IN_AS.items():
            self.stdout.write(f"Sign in    {email}   as {who}")
        self.stdout.write(f"Password   {password}")
        if not settings.EMAIL_IS_SENT:
            self.stdout.write(f"Mail       is written to files in {_short(Path(settings.EMAIL_FILE_PATH))}")
        self.stdout.write(f"Data       is in {_short(settings.DATA_DIR)}")


def _member(email: str) -> Member:
    return next(member for member in everybody() if member.email == email)


def _short(path: Path) -> Path:
    return path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path
