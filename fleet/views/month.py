"""What falls due in one month, on a calendar."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.showing import day as day_words
from fleet import queries
from fleet.calendars import CalendarEvent, events_of
from fleet.core.days import month_from, neighbours, weeks_of
from fleet.core.due import DueStatus, State
from fleet.models import FeedScope
from fleet.wording import STATE_WORDS, when
from instructors.access import MemberRequest
from instructors.models import Member


@dataclass(frozen=True, slots=True)
class EventWords:
    """One event in words. ``of`` names whose credential it is; empty for a car's item and the viewer's own.

    ``days_left`` and ``notice_days`` fill the ring of what is due.
    """

    title: str
    of: str
    state: State
    state_words: str
    days_left: int | None
    notice_days: int
    link: str


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """One day of the page, with what it holds."""

    on: date
    is_in_month: bool
    is_today: bool
    events: list[EventWords]


@require_safe
def month(request: MemberRequest) -> HttpResponse:
    """The due and booked days that a member may see, week by week and as a list."""
    today = timezone.localdate()
    shown = month_from(request.GET.get("month", "")) or today.replace(day=1)
    scope = FeedScope.GROUP if request.user.is_coordinator else FeedScope.OWN
    report = queries.report_in(scope, request.user, today)
    by_day: dict[date, list[EventWords]] = defaultdict(list)
    for event in events_of(report):
        by_day[event.day].append(_words(event, request.user))
    weeks = [
        [CalendarDay(day, day.month == shown.month, day == today, by_day.get(day, [])) for day in week]
        for week in weeks_of(shown)
    ]
    before, after = neighbours(shown)
    context = {
        "month": shown,
        "before": before,
        "after": after,
        "is_this_month": shown == today.replace(day=1),
        "weeks": weeks,
        "days": [day for week in weeks for day in week if day.is_in_month and (day.events or day.is_today)],
        "earlier": [
            (line.title, line.subject.words, when(line.status))
            for line in report.lines()
            if line.status.state is State.OVERDUE and _is_before(line.status, shown)
        ],
        "unknown": [(line.title, line.subject.words) for line in report.lines() if line.status.governing_on is None],
    }
    return render(request, "fleet/month.html", context)


def _is_before(status: DueStatus, month: date) -> bool:
    return status.governing_on is not None and status.governing_on < month


def _words(event: CalendarEvent, viewer: Member) -> EventWords:
    line = event.line
    car, member = line.subject.car, line.subject.member
    state = State.BOOKED if event.is_booking else line.status.state
    return EventWords(
        title=event.words,
        of="" if car or member == viewer else member.name,
        state=state,
        state_words="Booked for this day" if event.is_booking else _due_words(line.status),
        days_left=line.status.days_left,
        notice_days=line.kind.notice_days,
        link=resolve_url("fleet:car", car.registration) if car else resolve_url("fleet:due-item-correct", line.item_id),
    )


def _due_words(status: DueStatus) -> str:
    if status.state is State.BOOKED and status.booked_for:
        return f"Due; booked for {day_words(status.booked_for)}"
    return STATE_WORDS[status.state]
