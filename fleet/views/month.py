"""What falls due in one month, on a calendar, and on one day of it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.utils.text import capfirst
from django.views.decorators.http import require_safe

from config.showing import day as day_words
from fleet import queries
from fleet.calendars import CalendarEvent, events_of
from fleet.core.days import day_from, month_from, neighbours, weeks_of
from fleet.core.due import DueStatus, State
from fleet.models import FeedScope
from fleet.queries import DueLine, DueReport
from fleet.wording import STATE_WORDS, distance, past_forecast_words, when
from instructors.access import MemberRequest
from instructors.models import Member

#: Of what a day holds, shown in the month; the page of a month of which every day is full stays below 60 kB.
FIRST = 3
#: Of what a day holds on its own page, and of what has no day in the month.
PAGE_LENGTH = 12


class MonthItem(NamedTuple):
    """What a due item is called, and where it leads. ``mark`` is that of its car; empty for a credential.

    ``of`` names the car's keeper, or whose credential it is; empty for the viewer's own.
    """

    title: str
    mark: str
    link: str
    of: str


@dataclass(frozen=True, slots=True)
class EventWords:
    """One event in words. ``days_left`` and ``notice_days`` fill the ring of what is due."""

    item: MonthItem
    state: State
    state_words: str
    days_left: int | None
    notice_days: int


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """One day of the month's page: its first events, and how many more a page of its own lists."""

    on: date
    is_in_month: bool
    is_today: bool
    events: list[EventWords]
    more_count: int


@require_safe
def month(request: MemberRequest) -> HttpResponse:
    """The due and booked days that a member may see, week by week on a desk and as a list on a phone."""
    today = timezone.localdate()
    shown = month_from(request.GET.get("month", "")) or today.replace(day=1)
    report = _report(request.user, today)
    by_day: dict[date, list[CalendarEvent]] = defaultdict(list)
    for event in events_of(report):
        by_day[event.day].append(event)

    def holds(day: date) -> CalendarDay:
        events, is_in_month = by_day.get(day, []), day.month == shown.month
        first = events[: FIRST if is_in_month else 0]
        words = [_words(event, request.user) for event in first]
        return CalendarDay(day, is_in_month, day == today, words, len(events) - len(first))

    before, after = neighbours(shown)
    days = [holds(day) for week in weeks_of(shown) for day in week]
    earlier = [line for line in report.lines() if line.status.state is State.OVERDUE and _is_before(line.status, shown)]
    context = {
        "month": shown,
        "before": before,
        "after": after,
        "is_this_month": shown == today.replace(day=1),
        "page_query": f"month={shown:%Y-%m}&",
        "days": days,
        "has_days": any(day.is_in_month and (day.events or day.is_today) for day in days),
        "earlier": _page([_item_and_when(line, request.user) for line in earlier], request.GET.get("earlier")),
        "unknown": _page([_item_and_when(line, request.user) for line in _unknown(report)], request.GET.get("unknown")),
    }
    return render(request, "fleet/month.html", context)


@require_safe
def due_day(request: MemberRequest, on: str) -> HttpResponse:
    """All that is due or booked on one day, or recorded until then, of what a member may see."""
    day = day_from(on)
    if day is None:
        raise Http404
    report = _report(request.user, timezone.localdate())
    events = [event for event in events_of(report) if event.day == day]
    unknown = [line for line in _unknown(report) if line.status.governing_on == day]
    page = _page([*events, *unknown], request.GET.get("page"))
    context = {
        "day": day,
        "to_month": f"{resolve_url('fleet:month')}?month={day:%Y-%m}",
        "page": page,
        "events": [
            _words(row, request.user) if isinstance(row, CalendarEvent) else _words_of_unknown(row, request.user)
            for row in page
        ],
    }
    return render(request, "fleet/due_day.html", context)


def _report(viewer: Member, today: date) -> DueReport:
    return queries.report_in(FeedScope.GROUP if viewer.is_coordinator else FeedScope.OWN, viewer, today)


def _unknown(report: DueReport) -> list[DueLine]:
    return [line for line in report.lines() if line.status.state is State.UNKNOWN]


def _page(rows: Sequence[object], number: str | None) -> Page:
    return Paginator(rows, PAGE_LENGTH).get_page(number)


def _is_before(status: DueStatus, month: date) -> bool:
    return status.governing_on is not None and status.governing_on < month


def _item(line: DueLine, viewer: Member) -> MonthItem:
    car, member = line.subject.car, line.subject.member
    of = "" if member == viewer else member.name
    if car is None:
        return MonthItem(line.title, "", resolve_url("fleet:due-item-correct", line.item_id), of)
    return MonthItem(line.title, line.subject.words, resolve_url("fleet:car", car.registration), of)


def _item_and_when(line: DueLine, viewer: Member) -> tuple[MonthItem, str]:
    return _item(line, viewer), when(line.status)


def _words(event: CalendarEvent, viewer: Member) -> EventWords:
    line = event.line
    return EventWords(
        item=_item(line, viewer),
        state=State.BOOKED if event.is_booking else line.status.state,
        state_words="Booked for this day" if event.is_booking else _due_words(line.status),
        days_left=line.status.days_left,
        notice_days=line.kind.notice_days,
    )


def _words_of_unknown(line: DueLine, viewer: Member) -> EventWords:
    item, words = _item_and_when(line, viewer)
    return EventWords(item, State.UNKNOWN, capfirst(words), None, line.kind.notice_days)


def _due_words(status: DueStatus) -> str:
    """How an item stands on its day, and how far off that is."""
    if status.days_left is None or (status.state is State.OVERDUE and status.days_left >= 0):
        return STATE_WORDS[status.state]
    if status.is_past_by_forecast:
        return capfirst(past_forecast_words(status.days_left))
    if status.state is State.OVERDUE:
        return distance(status.days_left)
    booked = (
        f"; booked for {day_words(status.booked_for)}" if status.state is State.BOOKED and status.booked_for else ""
    )
    forecast = ", by forecast" if status.is_by_miles else ""
    return f"Due {distance(status.days_left)}{forecast}{booked}"
