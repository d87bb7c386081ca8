"""Changes to members: their names, roles and grades, and when they join and leave.

An action that refuses raises a ``ValidationError`` by field, in words for the person who asked. Whatever somebody else
changes is recorded, and the member is told at once.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from config.history import lock, put
from config.showing import day
from instructors.actions.record import record_act, text_of
from instructors.models import REMINDER_HOUR, ActKind, Member, Role

#: Rows that one INSERT takes.
_BATCH = 2000


def require_coordinator(member: Member) -> None:
    """Raise PermissionDenied for a member without the role."""
    if not member.is_coordinator:
        raise PermissionDenied


def change_member(
    *, by: Member, member: Member, name: str, role: str, grade: str, joined_on: date | None = None
) -> Member:
    """Correct a member's name, role or grade, and set the day they joined if the book does not know it.

    A coordinator cannot change the e-mail address, or they could have a sign-in code sent to themselves and read the
    member's costs. The day of joining stays once it is set, because it decides who counts in the group's figures.
    Raises ValidationError on ``role`` if no coordinator would be left, and on ``joined_on`` if it is set already or
    past.
    """
    require_coordinator(by)
    with transaction.atomic():
        row = lock_member(member)
        if role != Role.COORDINATOR:
            require_another_coordinator(row, "role")
        if joined_on not in (None, row.joined_on):
            _check_joining(row, joined_on)
        _change(by, row, {"name": name, "role": role, "grade": grade, "joined_on": joined_on or row.joined_on})
    return row


def record_leaving(*, by: Member, member: Member, left_on: date) -> Member:
    """Record a member's last day in the co-op. From the day after they cannot sign in and get no reminders.

    Their records stay. Raises ValidationError on ``left_on`` if they joined after it, or if no coordinator would be
    left.
    """
    require_coordinator(by)
    with transaction.atomic():
        row = lock_member(member)
        require_another_coordinator(row, "left_on")
        if row.joined_on and left_on < row.joined_on:
            raise ValidationError({"left_on": f"{row.name} joined on {day(row.joined_on)}, which is after this day."})
        _change(by, row, {"left_on": left_on})
    return row


def record_return(*, by: Member, member: Member) -> Member:
    """Remove a member's last day, because they are staying or have come back."""
    require_coordinator(by)
    with transaction.atomic():
        row = lock_member(member)
        _change(by, row, {"left_on": None})
    return row


def _check_joining(row: Member, joined_on: date) -> None:
    if row.joined_on is not None:
        raise ValidationError({"joined_on": f"{row.name} joined on {day(row.joined_on)}, and that cannot be changed."})
    if joined_on < timezone.localdate():
        raise ValidationError({"joined_on": "Give today or a later day."})
    if row.left_on and joined_on > row.left_on:
        raise ValidationError({"joined_on": f"{row.name} left on {day(row.left_on)}, which is before this day."})


def _change(by: Member, row: Member, values: Mapping[str, Any]) -> None:
    """Save those ``values`` that differ from the locked row and record them; mail the member if ``by`` is another."""
    changed = put(row, values)
    for field, (was, now) in changed.items():
        record_act(
            by=by,
            kind=ActKind.PERSON,
            concerns=row,
            subject=f"member:{row.pk}",
            field=field,
            was=text_of(was),
            now=text_of(now),
            is_mailed=by != row,
        )
    if changed:
        row.save(update_fields=list(changed))


def choose_reminders(*, by: Member, reminder_hour: int | None, wants_due_mail: bool, wants_log_mail: bool) -> Member:
    """Set the hour, UK time, from which a member gets reminders, and whether they want mail about everything due.

    None is the co-op's hour. Reminders of what the law asks for are mailed in any case. ``wants_log_mail``: a word
    after a week without an entry. Raises ValidationError on ``reminder_hour`` outside 4 to 23.
    """
    if reminder_hour is not None and not REMINDER_HOUR.least <= reminder_hour <= REMINDER_HOUR.most:
        raise ValidationError({"reminder_hour": f"Choose an hour from {REMINDER_HOUR.least} to {REMINDER_HOUR.most}."})
    by.reminder_hour, by.wants_due_mail, by.wants_log_mail = reminder_hour, wants_due_mail, wants_log_mail
    by.save(update_fields=["reminder_hour", "wants_due_mail", "wants_log_mail"])
    return by


def stop_log_mail(member: Member) -> None:
    """Send a member no more words after a week without an entry."""
    member.wants_log_mail = False
    member.save(update_fields=["wants_log_mail"])


def lock_member(member: Member) -> Member:
    """The member's row, locked after the rows of all coordinators, always in the same order.

    If two coordinators step down at the same moment, the second waits and sees what the first has done. Raises
    ValidationError for somebody who is erased.
    """
    list(Member.objects.select_for_update().filter(role=Role.COORDINATOR).order_by("pk"))
    row = lock(member)
    if row.erased_at:
        raise ValidationError("They are erased already.", code="erased")
    return row


def require_another_coordinator(member: Member, field: str) -> None:
    """Refuse a change that would leave the co-op without a coordinator."""
    if not member.is_coordinator:
        return
    staying = Member.objects.filter(role=Role.COORDINATOR, left_on__isnull=True).exclude(pk=member.pk)
    if not staying.exists():
        raise ValidationError(
            {field: f"{member.name} is the only coordinator. Make somebody else a coordinator first."}
        )


def give_password(*, member: Member, password: str) -> None:
    """Set a member's password in a made-up book."""
    member.set_password(password)
    member.save(update_fields=["password"])


def load_members(members: Sequence[Member]) -> None:
    """Add the members of an archive. It holds no passwords, so they sign in with an e-mailed code."""
    for member in members:
        member.set_unusable_password()
    Member.objects.bulk_create(members, batch_size=_BATCH)
