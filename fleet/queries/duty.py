"""Whether members are being told: by mails that go, by runs, by whatever keeps and does them, and what could end it.

What has not been due yet in this installation has not failed: all is counted from the first pulse of its schedule, so
that a book that was restored, or is new, is not red at once. See ``settings.DUTY``.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import Min
from django.utils import timezone

from config.backup import place_of_backups
from config.disk import too_full
from config.health import Answer
from config.outbox import UNSENT, Traffic, together, traffic
from config.release import last_migrated_at
from config.showing import day
from fleet.models import DutyTurn, MailKind, Pulse, PulseName, ReminderMail
from fleet.queries.notifications import LATE_AFTER, first_car_recorded_at, last_finished_run
from instructors.models import BackupDrill, BackupRun
from instructors.queries import (
    act_traffic,
    active_members,
    backup_failed_since,
    count_recorded_as_lost_since,
    drill_failed_since,
    files_place,
    last_backup,
    last_good_drill,
)

#: A mail that the server refuses for now has by then been tried five times.
WAITS_TOO_LONG = timedelta(minutes=90)
#: So many addresses that are refused, and no other taken, are the fault of the server or of the book.
MANY_ADDRESSES = 3
#: News of a defect, which goes within seconds of being written; then it counts whether the server takes it.
NEWS_UNTRIED = timedelta(minutes=3)
#: Of the schedule, which shows itself each minute; a run on a slow machine may keep it.
SCHEDULE_SILENT = timedelta(minutes=10)
#: Of a worker, all of whose processes may be at a task that takes 15 minutes.
WORKER_SILENT = timedelta(minutes=20)
#: Of the store of the files, asked each minute.
STORE_SILENT = timedelta(minutes=10)
#: One backup a day, plus two hours for a server restarted at the wrong moment.
BACKUP_LATE = timedelta(hours=26)
#: One drill a month, plus two weeks in which one that failed is tried again each day.
DRILL_LATE = timedelta(days=45)


def duty() -> list[Answer]:
    """How each part of telling members stands now; for anybody to read."""
    now = timezone.now()
    return [
        *_mail(now),
        _news_of_defects(now),
        _reminders(now),
        *_processes(now),
        _disk(),
        *_store(),
        _backup(now),
        _drill(now),
    ]


def reminders_are_late(now: datetime) -> bool:
    """Whether it is so long since a run finished that something must have stopped."""
    since = quiet_since()
    return since is not None and now - max(since, began_at()) > LATE_AFTER


def quiet_since() -> datetime | None:
    """When a run last finished; before the first run, when the first car was entered; None if there is no car."""
    run = last_finished_run()
    return run.finished_at if run else first_car_recorded_at()


def backup_is_late(now: datetime) -> bool:
    """Whether nightly backups are set up and none was made for too long."""
    last = last_backup()
    since = max(last.made_at, began_at()) if last else began_at()
    return place_of_backups() is not None and now - since > BACKUP_LATE


def backup_is_unproven(now: datetime) -> bool:
    """Whether nightly backups are set up, and the last drill failed or there was none for too long."""
    if place_of_backups() is None:
        return False
    since = _proven_since()
    return now - since > DRILL_LATE or drill_failed_since(since) is not None


def _proven_since() -> datetime:
    """When all last came back in a drill; what another installation found out of its backups is not counted."""
    last, began = last_good_drill(), began_at()
    return max(last.ended_at, began) if last else began


def began_at() -> datetime:
    """Since when this installation keeps a schedule; if it never has, since when it could have."""
    first = Pulse.objects.filter(name=PulseName.SCHEDULE).values_list("first_at", flat=True).first()
    return first or last_migrated_at() or timezone.now()


def last_turn() -> DutyTurn | None:
    """The newest turn of duty; None if it has never been red."""
    return DutyTurn.objects.order_by("-number").first()


def _mail(now: datetime) -> Iterator[Answer]:
    since = now - LATE_AFTER
    flow = together(
        [traffic(ReminderMail.objects.all(), refused_since=since), act_traffic(refused_since=since)],
    )
    began = began_at()
    waiting = flow.waiting_since and max(flow.waiting_since, began)
    if waiting and now - waiting > WAITS_TOO_LONG:
        words = f"An e-mail has been waiting since {_at(waiting)}. {_WHY}"
        yield Answer("oldest mail", False, words)
    else:
        words = f"The oldest e-mail that waits is of {_at(waiting)}." if waiting else "No e-mail is waiting."
        yield Answer("oldest mail", True, words)
    taken = f"The last e-mail was taken on {_at(flow.taken_at)}." if flow.taken_at else "No e-mail has gone yet."
    if _all_refused(flow, began, now):
        words = f"The mail server takes none of the book's e-mails. {taken} {_WHY}"
        yield Answer("last mail", False, words)
    else:
        yield Answer("last mail", True, taken)


_WHY = 'Coordinators see why on the page "Reminders sent"; `manage.py doctor --mail ADDRESS` tries the mail server.'


def _all_refused(flow: Traffic, began: datetime, now: datetime) -> bool:
    """Whether, of the mails written since one was last taken, several were refused, or one again and again.

    Those written before that were tried beside it: they turn duty red once they have waited too long. A refused
    address is its member's matter, which coordinators see, unless it is that of many members, or of all. If the server
    does not say so by an enhanced code, only that it has taken another mail since tells that it is the address.
    """
    refused = [one for one in flow.refusals if one.at >= began and _is_after(one.created_at, flow.taken_at)]
    others = [one for one in refused if not (one.of_address and one.says_so)]
    again = [one for one in others if one.attempt_count > 1 and _is_after(one.created_at, began)]
    members = {one.recipient_id for one in refused if one.of_address}
    if len(others) > 1 or again:
        return True
    return bool(members) and len(members) >= min(MANY_ADDRESSES, len(active_members(timezone.localdate(now))))


def _is_after(written: datetime | None, moment: datetime | None) -> bool:
    """Whether what was written at a time that may not be known is later than what may never have been."""
    return moment is None or (written is not None and written > moment)


def _news_of_defects(now: datetime) -> Answer:
    """Of mails about defects, whether they went or were refused: the worker may stand still, which is seen late.

    It may have claimed one before it did.
    """
    untried = ReminderMail.objects.filter(kind=MailKind.DEFECT, state__in=UNSENT, last_error="")
    written = untried.aggregate(first=Min("created_at"))["first"]
    since = written and max(written, began_at())
    if since is None or now - since <= NEWS_UNTRIED:
        return Answer("news of defects", True, "No e-mail about a defect is left untried.")
    words = (
        f"An e-mail about a defect was written on {_at(written)}, and no try to send it has ended. {_start('worker')}"
    )
    return Answer("news of defects", False, words)


def _reminders(now: datetime) -> Answer:
    since = quiet_since()
    if since is None:
        return Answer("reminders", True, "There is no car yet, so there is nothing to remind of.")
    if reminders_are_late(now):
        words = f"No run of the reminders has finished since {_at(since)}. See that the schedule and the worker run."
        return Answer("reminders", False, words)
    run = last_finished_run()
    return Answer("reminders", True, f"The last run finished on {_at(since)}." if run else "No run was due yet.")


def _processes(now: datetime) -> Iterator[Answer]:
    pulses = {pulse.name: pulse for pulse in Pulse.objects.all()}
    schedule, worker = pulses.get(PulseName.SCHEDULE), pulses.get(PulseName.WORKER)
    if schedule is None and first_car_recorded_at() is None:
        yield Answer("schedule", True, "Nothing keeps the schedule yet, and there is no car to remind of.")
        yield Answer("worker", True, "It has had nothing to do yet.")
        return
    seen = schedule.at if schedule else began_at()
    is_kept = now - seen <= SCHEDULE_SILENT
    if is_kept:
        yield Answer("schedule", True, "The schedule is kept.")
    else:
        yield Answer("schedule", False, f"Nothing has kept the schedule since {_at(seen)}. {_start('beat')}")
    # While the schedule was not kept there was nothing to do.
    given = schedule.since if schedule else seen
    worked = max(worker.at, given) if worker else given
    if not is_kept:
        yield Answer("worker", True, "It shows itself only while the schedule is kept.", instead="not known")
    elif now - worked <= WORKER_SILENT:
        yield Answer("worker", True, "Its tasks are done.")
    else:
        yield Answer("worker", False, f"No task has been done since {_at(worked)}. {_start('worker')}")


def _start(process: str) -> str:
    if settings.EMBEDDED:
        return "Start `manage.py serve` again."
    return f"See that the {process} runs and reaches Redis and the database."


def _disk() -> Answer:
    words = too_full()
    return Answer("disk", not words, words or "There is room.")


def _store() -> Iterator[Answer]:
    """Of the store of the files, which whoever does the tasks asks each minute; of none if there is none."""
    place, asked = files_place(), Pulse.objects.filter(name=PulseName.WORKER).first()
    if not settings.FILES_URL or place is None or asked is None:
        return
    answered = max(place.answered_at or place.noted_at, asked.since)
    if asked.at - answered <= STORE_SILENT:
        yield Answer("store", True, "The store of the files answers.")
    else:
        words = f"The store of the files has not answered as it should since {_at(answered)}. {_SEE_WHAT_IT_ANSWERS}"
        yield Answer("store", False, words)


def _backup(now: datetime) -> Answer:
    last = last_backup()
    made = f"The last backup was made on {_at(last.made_at)}." if last else "The book has not been backed up yet."
    lacks = _lacks(last) if last else ""
    if place_of_backups() is None:
        return Answer("backup", True, f"{made} {lacks and f'{lacks} '}{_NO_PLACE}", instead="not set up")
    if not backup_is_late(now):
        words = f"{made} {lacks and f'{lacks} {_SEE_WHERE_FILES_ARE}'}".strip()
        return Answer("backup", not lacks, words, instead="" if last else "not yet")
    failed = "The last try failed. " if backup_failed_since(last) else ""
    words = f"{made} {failed}{_SEE_THAT_STORE if settings.BACKUP_URL else _SEE_THAT_FOLDER}"
    return Answer("backup", False, words)


def _drill(now: datetime) -> Answer:
    last = last_good_drill()
    proven = _proven(last) if last else _NEVER
    if not backup_is_unproven(now):
        instead = "" if last else "not yet" if place_of_backups() else "not set up"
        return Answer("restore drill", True, proven, instead)
    failed = drill_failed_since(_proven_since())
    words = f"The trial on {_at(failed.ended_at)} failed. " if failed else ""
    return Answer("restore drill", False, f'{proven} {words}Coordinators see why on the page "Reminders sent".')


def _proven(drill: BackupDrill) -> str:
    lacks = _lacks(drill.backup)
    came = f"what was in it came back. {lacks}" if lacks else "all came back."
    return f"A backup was last restored as a trial on {_at(drill.ended_at)}: {came}"


def _lacks(backup: BackupRun) -> str:
    """How many files of the book are not in a backup and were not recorded as lost since; empty if there is none."""
    count = max(0, backup.missing_count - count_recorded_as_lost_since(backup.made_at))
    if count == 1:
        return "1 file that the book names was not there, so it is not in it."
    return f"{count:,} files that the book names were not there, so they are not in it." if count else ""


_SEE_WHERE_FILES_ARE = (
    "`manage.py doctor` tells where files are looked for, and `manage.py lost_files` names them; with --record, if they"
    " cannot come back, it says that they are lost for good."
)
_SEE_WHAT_IT_ANSWERS = "`manage.py doctor` tells what it answers, and so does the log."
_SEE_THAT_FOLDER = "See that BACKUP_FOLDER is mounted, has room and can be written to."
_SEE_THAT_STORE = "See that the store of BACKUP_URL answers, has room and takes its key."
_NO_PLACE = "No daily backup is set up: set BACKUP_FOLDER or BACKUP_URL."
_NEVER = "No backup has been restored as a trial yet."


def _at(moment: datetime) -> str:
    local = timezone.localtime(moment)
    return f"{day(local.date())} at {local:%H:%M}"
