"""What falls due as iCalendar (RFC 5545 and 7986)."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from uuid import NAMESPACE_URL, uuid5

from icalendar import Alarm, Calendar, Event

from config.site import address_of, site_url
from fleet import wording
from fleet.calendars import CalendarEvent, events_of
from fleet.core.due import State
from fleet.core.registration import show
from fleet.queries import CarDue, DueLine, DueReport, Revision

_ONE_DAY = timedelta(days=1)
#: How often a calendar app may ask for the calendar again.
_REFRESH_EVERY = timedelta(hours=6)
#: The hour of an alarm: in the morning, before most lessons.
_ALARM_AT = timedelta(hours=9)
_ALARM_DAYS, _BOOKED_ALARM_DAYS = (7, 1), (1,)


def icalendar_of(report: DueReport, revisions: Mapping[tuple[str, str], Revision]) -> bytes:
    """The report as an iCalendar of all-day events; the same data give the same bytes.

    A car off the road, and what is not known of a car, stand on the report's day: without that the car would look fine.
    It holds no member's name and nobody's own words on a defect: many calendars are stored by third parties.
    """
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//Tuition Car Book//What falls due//EN")
    calendar.add("name", "Tuition cars")
    calendar.add("refresh-interval", _REFRESH_EVERY, parameters={"VALUE": "DURATION"})
    for event in [*events_of(report), *_unknown_events(report)]:
        revision = revisions[event.line.subject.key, event.line.kind.name]
        calendar.add_component(_event(event, revision, report.on))
    for due in report.cars:
        if due.off_the_road:
            calendar.add_component(_off_the_road(due, report.on))
    return calendar.to_ical()


def _unknown_events(report: DueReport) -> list[CalendarEvent]:
    """An event today for each item of a car that is not known."""
    lines = [line for line in report.lines() if line.subject.car and line.status.state is State.UNKNOWN]
    return [CalendarEvent(report.on, line, is_booking=False) for line in lines]


def _off_the_road(due: CarDue, on: date) -> Event:
    """An event today for a car that must not be used for lessons, with the reasons, worst first."""
    link = address_of("fleet:car", due.registration)
    reasons = [wording.reason_words(reason._replace(about="") if reason.defect else reason) for reason in due.reasons]
    component = Event()
    component.add("uid", str(uuid5(NAMESPACE_URL, f"{site_url()}/cars/{due.car.pk}/off-the-road")))
    made_at = datetime.combine(on, time(), UTC)
    component.add("dtstamp", made_at)
    component.add("last-modified", made_at)
    component.add("sequence", on.toordinal())
    component.add("dtstart", on)
    component.add("dtend", on + _ONE_DAY)
    component.add("summary", f"Off the road: {show(due.registration)}")
    component.add("description", f"{'; '.join(reasons)}.\n{link}")
    component.add("url", link)
    component.add("transp", "TRANSPARENT")
    return component


def _event(event: CalendarEvent, revision: Revision, on: date) -> Event:
    changed_at = _changed_at(event.line, revision, on)
    component = Event()
    component.add("uid", _uid(event))
    component.add("dtstamp", changed_at)
    component.add("last-modified", changed_at)
    component.add("sequence", max(revision.number - 1, 0))
    component.add("dtstart", event.day)
    component.add("dtend", event.day + _ONE_DAY)
    component.add("summary", event.title)
    component.add("description", _description(event))
    component.add("url", _link(event.line))
    component.add("transp", "TRANSPARENT")
    for days in _alarm_days(event):
        component.add_component(_alarm(event, days))
    return component


def _alarm_days(event: CalendarEvent) -> tuple[int, ...]:
    if event.is_booking:
        return _BOOKED_ALARM_DAYS
    return () if event.is_unknown else _ALARM_DAYS


def _uid(event: CalendarEvent) -> str:
    """The same for an item even if its day changes, and says nothing of whose it is."""
    line = event.line
    subject = f"cars/{line.subject.car.pk}" if line.subject.car else f"members/{line.subject.member.pk}"
    kind = f"{line.kind.name}/booked" if event.is_booking else line.kind.name
    return str(uuid5(NAMESPACE_URL, f"{site_url()}/{subject}/{kind}"))


def _changed_at(line: DueLine, revision: Revision, on: date) -> datetime:
    """When the event's text last changed; a forecast or an unknown item changes every day."""
    if line.status.forecast is None and line.status.state is not State.UNKNOWN:
        return revision.at
    return max(revision.at, datetime.combine(on, time(), UTC))


def _description(event: CalendarEvent) -> str:
    line = event.line
    note = f"Note: {line.note}" if line.note and line.note != line.title else ""
    said = [] if event.is_booking else [wording.to_do(line.status, line.nation), wording.forecast_words(line.status)]
    return "\n".join(filter(None, [*said, note, _link(line)]))


def _link(line: DueLine) -> str:
    car = line.subject.car
    return address_of("fleet:car", car.registration) if car else address_of("fleet:due-item-correct", line.item_id)


def _alarm(event: CalendarEvent, days: int) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", event.title)
    alarm.add("trigger", _ALARM_AT - timedelta(days=days))
    return alarm
