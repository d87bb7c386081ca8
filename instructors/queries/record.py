"""Reads of the record of acts: a member's own record, and changes made too late to count."""

from collections.abc import Collection
from datetime import date, datetime

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from config.outbox import UNSENT, Traffic, traffic
from instructors.models import Act, ActKind, ActMail, Member


def record_of(member: Member, kind: ActKind | None = None) -> QuerySet[Act]:
    """A member's record, newest first, with who did each act. Show it to that member alone."""
    acts = Act.objects.filter(concerns=member).select_related("by")
    return acts if kind is None else acts.filter(kind=kind)


def late_changes(fields: Collection[str] | None, *, accepted_by: datetime) -> list[Act]:
    """The changes that somebody else made and whose mail had not gone by ``accepted_by``, newest first; one query.

    ``fields`` are values of ``Act.field``, or None for all. One that ends with a colon, such as "reading:", stands for
    all that begin with it. What counted before such a change is its ``was``.
    """
    by_another = Q(by__isnull=True) | ~Q(by=F("concerns"))
    untold = Q(told_at__isnull=True) | Q(told_at__gt=accepted_by)
    acts = Act.objects.filter(by_another, untold, mail__isnull=False).exclude(field="")
    if fields is not None:
        wanted = Q(field__in=[name for name in fields if not name.endswith(":")])
        for prefix in fields:
            if prefix.endswith(":"):
                wanted |= Q(field__startswith=prefix)
        acts = acts.filter(wanted)
    return list(acts.select_related("by", "concerns"))


def has_act_on(member: Member, *, subject: str, field: str, on: date) -> bool:
    """Whether a member's record has such an act on this day, UK time."""
    return Act.objects.filter(concerns=member, subject=subject, field=field, happened_at__date=on).exists()


def leavings_of(member: Member) -> list[Act]:
    """The acts by which the last day of a former member came about, oldest first, with their mails.

    The first is the last after which they still belonged to the co-op, if its last day has come; what follows only
    put right a day that was past.
    """
    found: list[Act] = []
    acts = Act.objects.filter(concerns=member, field="left_on").select_related("mail")
    for act in acts.order_by("happened_at", "pk"):
        if not act.now or date.fromisoformat(act.now) >= timezone.localdate(act.happened_at):
            found = []
        if act.now:
            found.append(act)
    return found


def untold_mails() -> list[ActMail]:
    """The mails about acts that have not gone yet, oldest first, with their recipients."""
    return list(ActMail.objects.filter(state__in=UNSENT).select_related("recipient"))


def act_traffic(*, refused_since: datetime) -> Traffic:
    """How the mails about acts fare; see ``config.outbox.traffic``."""
    return traffic(ActMail.objects.all(), refused_since=refused_since)


def names_of(keys: Collection[str]) -> dict[str, str]:
    """The names of the members with these keys, such as "member:7"."""
    ids = [int(key.removeprefix("member:")) for key in keys]
    members = Member.objects.filter(pk__in=ids) if ids else ()
    return {f"member:{member.pk}": member.name for member in members}
