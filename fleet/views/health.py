"""Health, for whatever watches the server: live, ready, and duty, which is that members are being told."""

import time
from contextlib import suppress
from datetime import timedelta

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe

from config import health as questions
from config.health import Answer
from config.http import read_or_write
from fleet.reminders import note_turn, post_turns, sound_alarm, told_without_room

#: A process that has just started cannot know a schedule that starts beside it from one that has stopped.
_UNDECIDED = timedelta(minutes=10).total_seconds()
_started = time.monotonic()


@login_not_required
@never_cache
@require_safe
def health_live(request: HttpRequest) -> JsonResponse:
    """200 from any process that answers; nothing else is asked. Only for this may a container be started again."""
    return _told(questions.live())


@login_not_required
@never_cache
@require_safe
def health_ready(request: HttpRequest) -> JsonResponse:
    """200 if the database answers and is of this release, else 503, within two seconds also while it hangs."""
    return _told(questions.ready())


@login_not_required
@never_cache
@read_or_write
@csrf_exempt
def health(request: HttpRequest) -> JsonResponse:
    """200 while members are being told, else 503; with each part of it.

    A POST also tells the coordinators and the web hook. A monitor sends one every half minute, so that they hear if the
    schedule or the worker has died. Both are for strangers too, so they look and tell but every few seconds.
    """
    parts = questions.duty_lately()
    if request.method == "POST" and parts[0].ok:
        with suppress(questions.StandsStillError):  # the parts say so, or the next post does
            _tell()
    red = [part.words for part in parts if not part.ok]
    words = f"Members are not being told. {' '.join(red)}" if red else "Members are being told."
    return _told(Answer("duty", not red, words), parts=[part.as_json() for part in parts])


def _tell_whom_it_concerns() -> None:
    now = timezone.now()
    with told_without_room():
        sound_alarm(now)
        if time.monotonic() - _started > _UNDECIDED:
            note_turn(questions.duty(), now)
        post_turns()


_tell = questions.Kept(_tell_whom_it_concerns)


def _told(answer: Answer, **more: object) -> JsonResponse:
    return JsonResponse(answer.as_json() | more, status=200 if answer.ok else 503)
