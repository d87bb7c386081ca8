"""What the book talks to: its database, its queue, its mail server and its web hook; and whether members are told."""

from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import redis
from django.conf import settings
from django.core.files.base import ContentFile
from django.core.mail import EmailMessage, get_connection
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from config import web_hook
from config.backup import Refused
from config.doctor.wrong import Wrong
from config.environment import ObjectStore
from config.files_place import misplaced
from config.health import duty
from config.mail import refusal_words
from config.redis_probe import redis_client, require_room
from config.release import last_migrated_at
from config.schema import schema
from config.showing import on_one_line
from config.sql import rows

#: Seconds that a server may take to answer.
_PATIENCE = 5
#: Where a backup of files does not look; one that was left is written over by the next.
_PROBE = f"{Path(settings.FILE_UPLOAD_TEMP_DIR).name}/doctor.txt"
#: How far two clocks may be apart.
_APART = timedelta(seconds=5)


def database() -> str:
    """Whether it can be reached and written to."""
    is_server = connection.vendor == "postgresql"
    if is_server:
        connection.settings_dict["OPTIONS"].setdefault("connect_timeout", _PATIENCE)
    try:
        # SQLite takes its lock for writing here, which it refuses on a file that is to be read only.
        with transaction.atomic():
            if is_server and rows("SHOW transaction_read_only") != [("off",)]:
                raise Wrong("The database takes no entries: it is read only, perhaps a copy of another one.")
    except DatabaseError as error:
        said = on_one_line(str(error), longest=200)
        raise Wrong(f"It cannot be used ({said}). Does it run, and does DATABASE_URL name it rightly?") from error
    if is_server:
        [(version,)] = rows("SHOW server_version")
        return f"PostgreSQL {version} answers."
    return f"SQLite in {connection.settings_dict['NAME']}."


def tables() -> str:
    """Whether they are those of this release."""
    try:
        words = schema().in_words()
    except DatabaseError as error:
        raise Wrong("Not known, because the database cannot be used.") from error
    if words:
        raise Wrong(words)
    return "Those of this release."


def store() -> str:
    """Whether the stores that are set up can be read and written to, and the book's files lie where it looks."""
    found = list(filter(None, (settings.FILES_URL, settings.BACKUP_URL)))
    for one in found:
        _try(one)
    # What is wrong with the database is said by the check of it.
    with suppress(DatabaseError, Refused):
        if words := misplaced():
            raise Wrong(words)
    return (
        f"{' and '.join(map(str, found))}: can be read and written to."
        if found
        else "None is set up: files lie on this machine."
    )


def _try(one: ObjectStore) -> None:
    from config.object_files import ObjectFiles

    files = ObjectFiles(one, overwrites=True, hurries=True)
    try:
        files.listdir("")
        files.save(_PROBE, ContentFile(b"Whether this can be written."))
        files.delete(_PROBE)
    except OSError as error:
        raise Wrong(f"{one}: {error.strerror}. See that the bucket is there and that the key may use it.") from error


def clock() -> str:
    """Whether the clock of this machine can be right, and agrees with the database's on moment and time zone."""
    now, last = timezone.now(), datetime.fromtimestamp(Path(__file__).stat().st_mtime, UTC)
    try:
        last = max(last, last_migrated_at() or last)
        if connection.vendor == "postgresql":
            [(there, local)] = rows("SELECT now(), now() AT TIME ZONE %s", settings.TIME_ZONE)
            _compare(there, timezone.now(), "the database's")
            if local != timezone.make_naive(there):
                raise Wrong(
                    f"The database has other rules for the time in {settings.TIME_ZONE}: update its time zones."
                )
    except DatabaseError:
        pass  # said by the check of the database
    if now < last:
        raise Wrong(f"This machine's clock says {now:%Y-%m-%d %H:%M}, but the book was set up later: set the clock.")
    return f"{timezone.localtime(now):%Y-%m-%d %H:%M %Z} in {settings.TIME_ZONE}."


def queue() -> str:
    """Whether Redis answers and takes tasks."""
    if settings.EMBEDDED:
        return "None: whoever asks for a task does it, and `manage.py serve` keeps the schedule."
    try:
        with redis_client(_PATIENCE) as client:
            seconds, _ = client.time()
            version = client.info("server")["redis_version"]
            require_room(client)
    except redis.OutOfMemoryError as error:
        raise Wrong(
            "Redis answers and takes nothing, as its memory is full. Give it more, or see what fills it."
        ) from error
    except redis.ResponseError as error:
        said = on_one_line(str(error), longest=200)
        raise Wrong(f"Redis answers and takes nothing ({said}). Has its disk room, and may the book write?") from error
    except redis.RedisError as error:
        said = on_one_line(str(error), longest=200)
        raise Wrong(f"Redis does not answer ({said}). Does it run, and does REDIS_URL name it rightly?") from error
    _compare(datetime.fromtimestamp(seconds, UTC), timezone.now(), "that of Redis")
    return f"Redis {version} answers and takes tasks."


def _compare(there: datetime, here: datetime, whose: str) -> None:
    if abs(there - here) > _APART:
        apart = round(abs(there - here).total_seconds())
        raise Wrong(f"This machine's clock and {whose} are {apart} s apart: let both be set from the network.")


def hook() -> str:
    """Whether the web hook's host is there; nothing is posted to it."""
    if not settings.ALARM_URL:
        return "None: if mail itself is broken, only `/health/` and the page of the reminders say so. Set ALARM_URL."
    try:
        web_hook.reach(settings.ALARM_URL)
    except web_hook.NotTaken as error:
        raise Wrong(f"ALARM_URL: {error} Does it name it rightly, and may this machine reach it?") from error
    return f"{urlsplit(settings.ALARM_URL).hostname} is there, and shows who it is."


def told() -> str:
    """Whether members are being told, as `/health/` says it."""
    if red := [part.words for part in duty() if not part.ok]:
        raise Wrong(f"Members are not being told. {' '.join(red)}")
    return "Members are being told, as far as anything was due."


def mail(to: str | None) -> str:
    """Whether the mail server lets the book in; it is given one mail if it is said to whom."""
    if not settings.EMAIL_IS_SENT and not settings.EMBEDDED:
        raise Wrong(f"EMAIL_URL: is not set, so that no mail is sent; it is written into {settings.EMAIL_FILE_PATH}.")
    if not settings.EMAIL_IS_SENT and not to:
        return f"{_server()}."
    server = get_connection(timeout=_PATIENCE)
    message = EmailMessage(
        "A try of the Tuition Car Book",
        "Somebody tried whether the book can send mail, by `manage.py doctor`. It can.\n",
        to=[to] if to else [],
        connection=server,
    )
    try:
        server.open()
        try:
            message.send()  # to nobody, it is not sent
        finally:
            server.close()
    except OSError as error:
        raise Wrong(
            f"{_server()} does not take it: {refusal_words(error)}. Does EMAIL_URL name it, and its account, rightly?"
        ) from error
    if to:
        return f"{_server()}. One for {to} was handed over: see whether it arrives."
    return f"{_server()} lets the book in. `doctor --mail ADDRESS` sends a mail."


def _server() -> str:
    if not settings.EMAIL_IS_SENT:
        return f"Nothing is sent: mail is written into {settings.EMAIL_FILE_PATH}"
    return f"The mail server {settings.EMAIL_HOST}:{settings.EMAIL_PORT}"
