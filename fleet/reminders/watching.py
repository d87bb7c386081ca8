"""Whether members are being told, watched: alarms by mail, and turns of duty to a web hook if mail is broken too.

The worker does it each minute. Whoever posts to the health address does it as well, in case the worker has stopped. Any
number of processes may do it at once.
"""

import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.cache import cache
from django.db import OperationalError
from django.utils import timezone

from config import outbox, web_hook
from config.broken import is_full
from config.disk import DATABASE_IS_FULL
from config.health import Answer
from config.outbox import MailState
from config.site import site_url
from fleet.actions import queue_backup_alarm, queue_mail
from fleet.actions.acts import BACKUP, DRILL
from fleet.models import DutyTurn, MailKind
from fleet.queries import backup_is_late, backup_is_unproven, last_turn, reminders_are_late
from fleet.reminders.delivery import deliver_mail
from fleet.reminders.outbox import mails_to_send
from instructors.models import REMINDER_HOUR
from instructors.queries import coordinators, last_backup, last_good_drill

logger = logging.getLogger(__name__)

#: Names, in the cache, the turn that the web hook was told of while it could not be written down.
_TOLD_UNWRITTEN = "duty-turn-told-unwritten"


def sound_alarm(now: datetime) -> None:
    """Mail every coordinator if no run has finished for too long, once a day; if no backup was made or proven, once.

    This process sends it at once, outside any transaction, as the worker may be what has stopped. Nothing is sent
    between midnight and four, when no run is due.
    """
    local = timezone.localtime(now)
    if local.hour < REMINDER_HOUR.least:
        return
    runs_are_late, backup_alarms = reminders_are_late(now), list(_backup_alarms(now))
    if not (runs_are_late or backup_alarms):
        return
    for coordinator in coordinators(local.date()):
        if runs_are_late:
            queue_mail(to=coordinator, kind=MailKind.ALARM)
        for about, last_at in backup_alarms:
            queue_backup_alarm(to=coordinator, about=about, last_at=last_at)
    for mail_id in mails_to_send(local.date(), kinds=[MailKind.ALARM]):
        deliver_mail(mail_id, local.date())


def _backup_alarms(now: datetime) -> Iterator[tuple[str, datetime | None]]:
    """What is to be told of backups, and since when."""
    if backup_is_late(now):
        made = last_backup()
        yield BACKUP, made.made_at if made else None
    if backup_is_unproven(now):
        drill = last_good_drill()
        yield DRILL, drill.ended_at if drill else None


def note_turn(found: Iterable[Answer], now: datetime) -> None:
    """Write down that duty has turned red or green, if it has; a book that has never been red is green.

    The look that ``found`` this began at ``now``. One that another process has overtaken says nothing any more.
    """
    _note_what_was_told_unwritten()
    red = [part for part in found if not part.ok]
    last = last_turn()
    if bool(red) == (last.is_red if last else False) or (last and last.turned_at > now):
        return
    words = " ".join(part.words for part in red)
    logger.warning("Members are %s", f"not being told. {words}" if red else "being told again.")
    state = MailState.QUEUED if settings.ALARM_URL else MailState.SUPERSEDED
    _write_after(last, is_red=bool(red), words=words[:1_000], turned_at=now, state=state)


def _write_after(last: DutyTurn | None, **turn: Any) -> None:
    # Another process may have seen the same turn.
    DutyTurn.objects.get_or_create(number=last.number + 1 if last else 1, defaults=turn)


def post_turns() -> None:
    """Post the turns of duty that wait to the web hook, oldest first. Never call it inside a transaction.

    One that is not taken waits as a refused mail does, and the later ones behind it.
    """
    if not settings.ALARM_URL:
        return
    waiting = DutyTurn.objects.filter(state__in=outbox.UNSENT).order_by("number")
    for turn_id in waiting.values_list("pk", flat=True):
        turn = outbox.claim(DutyTurn.objects.all(), turn_id)
        if turn is None:
            return
        try:
            web_hook.post(settings.ALARM_URL, _message(turn))
        except web_hook.NotTaken as error:
            outbox.mark_refused(turn, str(error))
            return
        outbox.mark_sent(turn)


@contextmanager
def told_without_room() -> Iterator[None]:
    """Within it, the web hook is told of a database that can write nothing down, not even a turn, as its disk is full.

    Only the cache remembers that it was told: if that forgets, it is told again.
    """
    try:
        yield
    except OperationalError as error:
        if not is_full(error):
            raise
        logger.warning("Members are not being told. %s", DATABASE_IS_FULL)
        _post_unwritten(timezone.now())


def _post_unwritten(now: datetime) -> None:
    last = last_turn()
    is_told = last and last.is_red and last.state == MailState.SENT
    if not settings.ALARM_URL or is_told or cache.get(_TOLD_UNWRITTEN):
        return
    turn = DutyTurn(is_red=True, words=DATABASE_IS_FULL, turned_at=now)
    try:
        web_hook.post(settings.ALARM_URL, _message(turn))
    except web_hook.NotTaken as error:
        logger.warning("%s It is tried again.", error)
        return
    cache.set(_TOLD_UNWRITTEN, {"message_id": turn.message_id, "turned_at": now, "sent_at": now}, timeout=None)


def _note_what_was_told_unwritten() -> None:
    """Write down the turn that the web hook was told of without that, so that it is told of its end too."""
    told = cache.get(_TOLD_UNWRITTEN)
    if not told:
        return
    last = last_turn()
    if not (last and last.is_red):
        _write_after(last, is_red=True, words=DATABASE_IS_FULL, state=MailState.SENT, **told)
    cache.delete(_TOLD_UNWRITTEN)


def _message(turn: DutyTurn) -> dict[str, object]:
    """What the web hook is told: no member, no sum, no secret."""
    words = f"Members are not being told. {turn.words}" if turn.is_red else "Members are being told again."
    return {
        "id": str(turn.message_id),
        "book": site_url(),
        "duty": "red" if turn.is_red else "green",
        "at": turn.turned_at.isoformat(timespec="seconds"),
        "text": f"{site_url()}: {words}",
    }
