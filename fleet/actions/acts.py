"""What others do to a member's car or credential: noted in that member's record, or mailed to them at once."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from config.outbox import nudge_after_commit
from config.showing import day
from fleet.core.registration import show
from fleet.models import Car, DueItem, MailKind, Notice, ReminderMail
from instructors.actions import record_act, text_of
from instructors.models import ActKind, Member


def note_act(by: Member | None, car: Car, event: str, words: str = "") -> None:
    """Note in the keeper's record what somebody else did about the car; the book's own doings are not noted."""
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
    """Note the same about a due item of a car or a member; ``words`` follow its title."""
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


def tell_of_change(by: Member, of: Car | DueItem, field: str, was: str, now: str) -> None:
    """Record that somebody changed a record of a member's car or credential, and mail it to that member."""
    car = of if isinstance(of, Car) else of.car
    concerned = car.keeper if car else getattr(of, "member", None)
    if concerned is None or concerned == by:
        return
    record_act(
        by=by,
        kind=ActKind.CONDITION,
        concerns=concerned,
        subject=f"car:{car.pk}" if car else f"member:{concerned.pk}",
        about=show(car.registration) if car else "",
        field=field,
        was=was,
        now=now,
        is_mailed=True,
    )


def due_words(item: DueItem) -> str:
    """When an item falls due, in words for the record."""
    return f"due on {day(item.due_on)}" if item.due_on else ""


def notify(
    by: Member, car: Car, changes: Mapping[str, tuple[object, object]], *, to: Iterable[Member], kind: ActKind
) -> None:
    """Record changes of a car (by field: before, now) for each of ``to``, and mail them; not whoever made them."""
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
    """Queue today's mail of one kind to one member; None if there is one already."""
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


#: What the alarms are about that no backup is made and that none was restored as a trial; so their notices are called.
BACKUP, DRILL = "backup", "drill"


@transaction.atomic
def queue_backup_alarm(*, to: Member, about: str, last_at: datetime | None) -> None:
    """Queue the word that ``about`` was not done since ``last_at``, once to a coordinator for as long as that is so."""
    occurrence = last_at.isoformat() if last_at else "never"
    key = {"member": to, "car": None, "kind": about, "occurrence": occurrence, "step": 0, "recipient": to}
    if Notice.objects.filter(**key).exists():
        return
    queue_mail(to=to, kind=MailKind.ALARM, about=about)
    mail = ReminderMail.objects.get(recipient=to, day=timezone.localdate(), kind=MailKind.ALARM, about=about)
    # Another process may be doing the same.
    Notice.objects.get_or_create(**key, defaults={"mail": mail})
