"""The nightly cleaning: what the table of ``settings.RETENTION`` calls too old is deleted, sort by sort."""

import logging
from collections.abc import Iterator
from datetime import datetime, timedelta

from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db.models import Q

from config.backup import clear_killed_drill
from config.erasing import erase_in_apps
from config.housekeeping import A_YEAR_AND_MORE, STORAGE_LIMITATION, Kept, delete_some, retention
from config.outbox import MailState
from instructors.actions.record import KEPT_FOR
from instructors.models import Act, ActMail, BackupDrill, BackupRun, Cleaning, Invitation, Member
from instructors.queries import last_backup, last_good_drill

logger = logging.getLogger(__name__)

_INVITATIONS = timedelta(days=90)
#: The night after, and another if the book was off.
_ERASED_LATELY = timedelta(days=3)


def clean_up(now: datetime) -> None:
    """Delete whatever is too old at ``now``, and note how much; what cannot be deleted keeps nothing else from it.

    It may run twice, also at once.
    """
    for kept in retention():
        if kept.clean is None:
            continue
        try:
            count = kept.clean(now)
        except Exception:
            logger.exception("What is too old could not be deleted: %s", kept.name)
            continue
        Cleaning.objects.update_or_create(name=kept.name, defaults={"at": now, "count": count})


def _clean_sign_ins(now: datetime) -> int:
    """Delete the sessions that have ended, and what was noted of the browsers that had them."""
    ended = Session.objects.filter(expire_date__lt=now).count()
    call_command("clearsessions")
    gone = UserSession.objects.exclude(session_key__in=Session.objects.values("session_key"))
    delete_some(gone)
    return ended


def _clean_acts(now: datetime) -> int:
    """Delete old acts, except those whose mail has not gone yet, and the mails about none."""
    old = Act.objects.filter(happened_at__lt=now - KEPT_FOR).exclude(mail__isnull=False, told_at__isnull=True)
    count = delete_some(old)
    delete_some(ActMail.objects.filter(state=MailState.SENT, acts__isnull=True))
    return count


def _clean_saved_meanwhile(now: datetime) -> int:
    """Erase again whoever was erased lately: a page of theirs may have been saving at that very moment."""
    count = 0
    for member in Member.objects.filter(erased_at__gte=now - _ERASED_LATELY):
        try:
            count += erase_in_apps(member, ())
        except ValidationError as refusal:
            # One who is in the way of it keeps nobody else from it.
            logger.error("What was saved while member %s was erased stays: %s", member.pk, refusal.messages)
    return count


def _clean_invitations(now: datetime) -> int:
    """Delete those that were accepted, withdrawn or ran out long ago."""
    before = now - _INVITATIONS
    return delete_some(
        Invitation.objects.filter(Q(accepted_at__lt=before) | Q(withdrawn_at__lt=before) | Q(expires_at__lt=before))
    )


def _clean_drills(now: datetime) -> int:
    """Delete what was noted of old drills, but never of the last that went well: by it one sees that none did since."""
    old = BackupDrill.objects.filter(ended_at__lt=now - A_YEAR_AND_MORE)
    last = last_good_drill()
    return delete_some(old.exclude(pk=last.pk) if last else old)


def _clean_backup_runs(now: datetime) -> int:
    """Delete what was noted of old backups, but never of the last: by it everybody sees that there is none since.

    Nor of one whose drill is still noted.
    """
    old = BackupRun.objects.filter(ended_at__lt=now - A_YEAR_AND_MORE, drills=None)
    last = last_backup()
    return delete_some(old.exclude(pk=last.pk) if last else old)


def _rows() -> Iterator[Kept]:
    yield Kept(
        "people",
        "Name, e-mail address, grade, and the days of joining and leaving",
        "As long as the book is kept, also after the last day, unless their member has them erased",
        "The history of a car, and the figures of a group, need to know who was a member when.",
    )
    yield Kept(
        "saved_meanwhile",
        "What a page of a member's was saving at the very moment when they were erased",
        "Until the night after",
        "It came too late to go with the rest.",
        "UK GDPR, article 17",
        _clean_saved_meanwhile,
    )
    yield Kept(
        "factors",
        "Password, passkeys, authenticator app, recovery codes",
        "Until their member changes or removes them",
        "Without them nobody could sign in. The book cannot read a password.",
    )
    yield Kept(
        "sign_ins",
        "Sign-ins on a browser: when, from which address on the internet, with which program",
        "Until one signs out there, at most 60 days after the last sign-in",
        "So that each member can see where they are signed in, and end what is not theirs.",
        STORAGE_LIMITATION,
        _clean_sign_ins,
    )
    yield Kept(
        "tries",
        "Counts of wrong passwords and codes",
        "At most a day",
        "They stop whoever guesses. They are kept beside the book, without the password that was tried.",
        STORAGE_LIMITATION,
    )
    yield Kept(
        "acts",
        "A member's record: sign-ins, downloads, and what others changed about them and their cars",
        f"{KEPT_FOR.days} days; longer only while the e-mail about it has not gone",
        "A year and a month, so that a change can be looked up when the same comes round a year later. It holds no "
        "sums of money.",
        STORAGE_LIMITATION,
        _clean_acts,
    )
    yield Kept(
        "invitations",
        "Invitations: the name and address of whoever was invited",
        f"{_INVITATIONS.days} days after they were accepted or withdrawn, or ran out",
        "Until then a coordinator sees that somebody was asked. Who joined is a member, and needs none any more.",
        STORAGE_LIMITATION,
        _clean_invitations,
    )
    yield Kept(
        "drills",
        "Notes that a backup was restored as a trial, and what came of it",
        f"{A_YEAR_AND_MORE.days} days; the last one that went well always",
        "By the last one everybody sees how long ago it is known that the book could be restored.",
        STORAGE_LIMITATION,
        _clean_drills,
    )
    yield Kept(
        "killed_drill",
        "What is left of such a trial that broke off",
        "Until the night after",
        "It is the whole book, not sealed, and nobody needs it.",
        STORAGE_LIMITATION,
        lambda now: int(clear_killed_drill()),
    )
    yield Kept(
        "backup_runs",
        "Notes that a backup was made, or failed",
        f"{A_YEAR_AND_MORE.days} days; the last one, and that of a trial that is still noted, always",
        "By the last one everybody sees how long ago it is.",
        STORAGE_LIMITATION,
        _clean_backup_runs,
    )


#: What the book keeps of its people.
OF_PEOPLE = tuple(_rows())
