"""What somebody else does to a member's car or credential: written into that member's record, or told at once."""

from collections.abc import Iterable, Mapping

from django.utils import timezone

from config.outbox import nudge_after_commit
from config.showing import day
from fleet.core.registration import show
from fleet.models import Car, DueItem, MailKind, ReminderMail
from instructors.actions import record_act, text_of
from instructors.models import ActKind, Member


def note_act(by: Member | None, car: Car, event: str, words: str = "") -> None:
    """Write into the keeper's record what was done about the car; nothing where they or the book itself did it."""
    if by is None or by.pk == car.keeper_id:
        return
    record_act(
        by=by,
        kind=ActKind.CONDITION,
        concerns=car.keeper,
        subject=f"car:{car.pk}",
        about=show(car.registration),
        field=event,
        now=words,
        is_mailed=False,
    )


def note_item(by: Member | None, item: DueItem, event: str, words: str = "") -> None:
    """The same of what falls due on a car, or of a member's credential; ``words`` come after what it is."""
    words = ", ".join(filter(None, [item.title, words]))
    if item.car is not None:
        note_act(by, item.car, event, words)
    elif by is not None and item.member is not None and by != item.member:
        record_act(
            by=by,
            kind=ActKind.CONDITION,
            concerns=item.member,
            subject=f"member:{item.member.pk}",
            field=event,
            now=words,
            is_mailed=False,
        )


def due_words(item: DueItem) -> str:
    """When an item falls due, for its keeper's record."""
    return f"due on {day(item.due_on)}" if item.due_on else ""


def notify(
    by: Member, car: Car, changes: Mapping[str, tuple[object, object]], *, to: Iterable[Member], kind: ActKind
) -> None:
    """Record changes of a car, by field what it was and is now, and mail each of ``to`` but whoever made them."""
    for member in to:
        for field, (was, now) in changes.items():
            if member != by:
                record_act(
                    by=by,
                    kind=kind,
                    concerns=member,
                    subject=f"car:{car.pk}",
                    about=show(car.registration),
                    field=field,
                    was=text_of(was),
                    now=text_of(now),
                    is_mailed=True,
                )


_SEND_MAIL = "fleet.tasks.send_mail"


def queue_mail(*, to: Member, kind: MailKind, about: str = "", asked_by: Member | None = None) -> ReminderMail | None:
    """Queue today's mail of that kind to one member; None if there is one already, sent or not."""
    today = timezone.localdate()
    mail, is_new = ReminderMail.objects.get_or_create(
        recipient=to, day=today, kind=kind, about=about, defaults={"asked_by": asked_by}
    )
    if not is_new:
        return None
    if asked_by is not None:
        record_act(by=asked_by, kind=ActKind.CONDITION, concerns=to, field="reminded", is_mailed=False)
    nudge_after_commit(_SEND_MAIL, mail.pk)
    return mail
