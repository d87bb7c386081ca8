"""What falls due in one month, on a calendar."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

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
from fleet.queries import DueLine
from fleet.wording import STATE_WORDS, when
from instructors.access import MemberRequest
from instructors.models import Member


class MonthItem(NamedTuple):
    """What a due item is called, and where it leads. ``mark`` is that of its car; empty for a credential."""

    title: str
    mark: str
    link: str


@dataclass(frozen=True, slots=True)
class EventWords:
    """One event in words. ``of`` names whose credential it is; empty for a car's item and the viewer's own.

    ``days_left`` and ``notice_days`` fill the ring of what is due.
    """

    item: MonthItem
    of: str
    state: State
    state_words: str
    days_left: int | None
    notice_days: int


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
            (_item(line), when(line.status))
            for line in report.lines()
            if line.status.state is State.OVERDUE and _is_before(line.status, shown)
        ],
        "unknown": [_item(line) for line in report.lines() if line.status.state is State.UNKNOWN],
    }
    return render(request, "fleet/month.html", context)


def _is_before(status: DueStatus, month: date) -> bool:
    return status.governing_on is not None and status.governing_on < month


def _item(line: DueLine) -> MonthItem:
    car = line.subject.car
    if car is None:
        return MonthItem(line.title, "", resolve_url("fleet:due-item-correct", line.item_id))
    return MonthItem(line.title, line.subject.words, resolve_url("fleet:car", car.registration))


def _words(event: CalendarEvent, viewer: Member) -> EventWords:
    line = event.line
    member = line.subject.member
    return EventWords(
        item=_item(line),
        of="" if line.subject.car or member == viewer else member.name,
        state=State.BOOKED if event.is_booking else line.status.state,
        state_words="Booked for this day" if event.is_booking else _due_words(line.status),
        days_left=line.status.days_left,
        notice_days=line.kind.notice_days,
    )


def _due_words(status: DueStatus) -> str:
    if status.state is State.BOOKED and status.booked_for:
        return f"Due; booked for {day_words(status.booked_for)}"
    return STATE_WORDS[status.state]
