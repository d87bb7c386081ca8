"""Erasing a member: all that is theirs goes, and what has to stay is a former member's without a name."""

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from itertools import chain
from pathlib import Path

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.module_loading import import_string

from config.erasing import erase_in_apps, take_out
from config.mail import send_soon, wrapped
from config.showing import day
from instructors.actions import lock_member, record_act, require_another_coordinator
from instructors.models import Act, ActKind, ActMail, Invitation, Member, Role
from instructors.queries import coordinators, leavings_of
from instructors.signing_in.actions import sign_out_everywhere

#: Whoever leaves is told at once, and has so long to say that they did not ask for it. The law wants an answer within a
#: month (UK GDPR, article 12(3)), for which 28 days are a safe target (ICO).
WAIT = timedelta(days=28)
NAMELESS = "A former member"


@transaction.atomic
def erase(*, by: Member, member: Member) -> None:
    """Erase a member: themselves by their own wish, or a former one by a coordinator, at that member's request.

    Each app does its part by ``settings.ERASURE``. It is all or nothing, recorded for every coordinator without
    anything about the person, and told to the person by mail. Raises ValidationError if the book would lose its last
    coordinator, if it is too early, or if they still keep a car; PermissionDenied for anybody else's wish.
    """
    row = lock_member(member)
    today = timezone.localdate()
    _refuse(by, row, today)
    name, email = row.name, row.email
    addresses = _addresses_of(row)
    words = [*addresses, *_full_names_of(row, addresses)]
    erase_in_apps(row, words)
    _erase_record(row, addresses, words)
    _make_nameless(row, today)
    for told in coordinators(today):
        record_act(
            by=by,
            kind=ActKind.PERSON,
            concerns=told,
            subject=f"member:{row.pk}",
            about=NAMELESS,
            field="erased",
            is_mailed=False,
        )
    transaction.on_commit(lambda: _say_good_bye(name, email))


def earliest(member: Member) -> date | None:
    """From which day a coordinator may erase a former member; None for one who has not left, or is not told yet.

    It counts from when they were told, because a last day can be recorded that lies far back, and not anew when a last
    day that was past is put right.
    """
    if member.left_on is None:
        return None
    leavings = leavings_of(member)
    if not leavings:  # they came with an archive, or left longer ago than acts are kept
        return member.left_on + WAIT
    told = [first for first in map(_counted_from, leavings) if first]
    return min(told) + WAIT if told else None


def still_kept(member: Member) -> list[str]:
    """The registrations of the cars that the member still keeps, which somebody has to take on before."""
    return list(import_string(settings.STILL_KEPT)(member))


def _counted_from(leaving: Act) -> date | None:
    """The last day that this act recorded, or the day on which they were told of it if that is later.

    None until then. Where the mail server refuses the mail, that it was tried has to do: nobody may be kept from being
    erased by an address that is no more.
    """
    told_at = leaving.told_at
    if leaving.mail is None:  # they recorded it themselves
        told_at = leaving.happened_at
    elif leaving.mail.attempt_count:
        told_at = told_at or leaving.mail.created_at
    return max(timezone.localdate(told_at), date.fromisoformat(leaving.now)) if told_at else None


def _refuse(by: Member, member: Member, today: date) -> None:
    require_another_coordinator(member, "typed")
    if by == member:
        return
    if not by.is_coordinator:
        raise PermissionDenied
    if member.is_active:
        raise ValidationError(f"{member.name} has not left. Record the last day first.", code="stays")
    first = earliest(member)
    if first is None:
        raise ValidationError(
            f"{member.name} is not told of the last day yet: the e-mail about it has to go out first."
        )
    if today < first:
        raise ValidationError(
            f"This can be done from {day(first)} on: they were told of their last day, and may object."
        )


def erase_signing_in(member: Member, words: Sequence[str]) -> int:
    """Sign the member out everywhere, and delete all by which they signed in; return how many rows went."""
    sign_out_everywhere(member=member)
    return sum(model.objects.filter(user=member).delete()[0] for model in (UserSession, Authenticator, EmailAddress))


def _addresses_of(member: Member) -> list[str]:
    """The member's address, and those they had before as their record knows them, in lower case, longest first.

    One that has become somebody else's is theirs now.
    """
    earlier = {one.lower() for one in _in_record(member, "email_changed")}
    taken = set(Member.objects.filter(email__in=earlier).exclude(pk=member.pk).values_list("email", flat=True))
    return _longest_first({member.email.lower(), *(earlier - taken)})


def _full_names_of(member: Member, addresses: Sequence[str]) -> list[str]:
    """The member's name, and those they had before or were invited by, longest first.

    No single word, which may be any word; and no earlier name that somebody else has.
    """
    invited = _invitations_to(addresses).filter(accepted_at__isnull=False).values_list("name", flat=True)
    earlier = {*_in_record(member, "name"), *invited}
    taken = set(Member.objects.filter(name__in=earlier).exclude(pk=member.pk).values_list("name", flat=True))
    return _longest_first({one for one in {member.name, *(earlier - taken)} if " " in one})


def _in_record(member: Member, field: str) -> Iterator[str]:
    """Whatever the member's record says that this of theirs was, or became."""
    acts = Act.objects.filter(concerns=member, field=field)
    return filter(None, chain.from_iterable(acts.values_list("was", "now")))


def _longest_first(words: Iterable[str]) -> list[str]:
    """What holds another of the words comes before it, so that nothing is left of either."""
    return sorted(words, key=lambda word: (-len(word), word))


def _invitations_to(addresses: Sequence[str]) -> QuerySet[Invitation]:
    return Invitation.objects.filter(email__in=addresses)  # they are kept in lower case


def _erase_record(member: Member, addresses: Sequence[str], words: Sequence[str]) -> None:
    Act.objects.filter(concerns=member).delete()
    ActMail.objects.filter(recipient=member).delete()
    _invitations_to(addresses).delete()
    take_out(words, [Act, ActMail])
    # Where no mail server is set: what was written to them. What names them in others' mails goes within 30 days.
    transaction.on_commit(lambda: _delete_mail_files(addresses))


def _make_nameless(member: Member, today: date) -> None:
    """Keep the row, because the history of cars refers to it, with nothing of the person but when they were a member.

    They count as gone since yesterday at the latest, so that no mail of today is written to them.
    """
    member.left_on = min(member.left_on or today, today - timedelta(days=1))
    if member.joined_on:
        member.joined_on = min(member.joined_on, member.left_on)
    member.name, member.email = NAMELESS, f"former-{member.pk}@erased.invalid"
    member.role, member.last_login, member.erased_at = Role.MEMBER, None, timezone.now()
    member.reminder_hour, member.wants_due_mail, member.wants_log_mail = None, False, False
    member.set_unusable_password()
    member.save()


def _say_good_bye(name: str, email: str) -> None:
    context = {"name": name, "email_is_sent": settings.EMAIL_IS_SENT}
    body = wrapped(render_to_string("instructors/mail/erased.txt", context))
    send_soon(EmailMessage("Your records in the Tuition Car Book are erased", body, to=[email]))


def _delete_mail_files(addresses: Sequence[str]) -> None:
    theirs = {address.lower().encode() for address in addresses}
    for path in Path(settings.EMAIL_FILE_PATH).glob("*.log"):
        if theirs.intersection(_SENT_TO.findall(path.read_bytes().lower())):
            path.unlink(missing_ok=True)


#: The address of a mail in a file, in small letters. A header that is long goes on in the next line.
_SENT_TO = re.compile(rb"^to:\s*(\S+)\s*$", re.MULTILINE)
