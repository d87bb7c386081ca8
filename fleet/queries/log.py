"""What was done about due items, and what was told of them."""

from fleet.models import Car, Completion, MailState, ReminderMail, ReminderRun
from instructors.models import Member


def completions_of(car: Car) -> list[Completion]:
    """How the car's due items were met, newest first."""
    return list(Completion.objects.filter(due_item__car=car).select_related("due_item", "recorded_by"))


def completions_of_member(member: Member) -> list[Completion]:
    """How the member's credentials were renewed, newest first."""
    return list(Completion.objects.filter(due_item__member=member).select_related("due_item", "recorded_by"))


def recent_runs(count: int = 14) -> list[ReminderRun]:
    """The latest runs of the reminders, newest first."""
    return list(ReminderRun.objects.all()[:count])


def last_finished_run() -> ReminderRun | None:
    """The reminder run that finished last."""
    return ReminderRun.objects.filter(finished_at__isnull=False).order_by("-finished_at").first()


def unsent_mails() -> list[ReminderMail]:
    """The reminder mails that wait to be sent or are being sent, oldest first, with their recipients."""
    waiting = ReminderMail.objects.filter(state__in=[MailState.QUEUED, MailState.SENDING])
    return list(waiting.select_related("recipient").order_by("day", "pk"))
