"""Do once what the nightly task does: tell each member in one mail what is due."""

from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from config.commands import BookCommand, day
from fleet.reminders import run_reminders
from fleet.wording import kind_words


class Command(BookCommand):
    help = "Send the reminders of a day that have not been sent yet."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--on", type=day, metavar="DAY", help="as of this day (2027-03-05), else today")

    def handle(self, *args: Any, **options: Any) -> None:
        on = options["on"] or timezone.localdate()
        result = run_reminders(on)
        for failure in result.failures:
            self.stderr.write(f"Not sent, it stays in the queue: {failure}")
        if options["json"]:
            self.print_json(
                {
                    "on": on,
                    "told": [told._asdict() for told in result.told],
                    "already_told": result.already_told_count,
                    "failed": len(result.failures),
                }
            )
            return
        if result.told:
            self.print_table(
                ["To", "What", "Of", "Due on", "Step"],
                [
                    (told.recipient, kind_words(told.kind), told.subject_of, told.due_on, told.step)
                    for told in result.told
                ],
            )
        self.stdout.write(
            f"Told now: {len(result.told)}. Told before: {result.already_told_count}. "
            f"Mails that could not be sent: {len(result.failures)}."
        )
