"""What falls due as events of a calendar."""

from datetime import date
from typing import NamedTuple

from fleet.core.due import State, by_urgency
from fleet.queries import DueLine, DueReport


class CalendarEvent(NamedTuple):
    """One event of the calendar: an item that falls due, or the appointment booked for it."""

    day: date
    line: DueLine
    is_booking: bool

    @property
    def words(self) -> str:
        """As in "MOT: QA51 ABC"; of a credential without whose it is."""
        return f"{self.line.title}: {self.line.subject.words}" if self.line.subject.car else self.line.title

    @property
    def title(self) -> str:
        """The words, with a booked or unknown day marked as such: "Booked, MOT: QA51 ABC"."""
        if self.is_booking:
            return f"Booked, {self.words}"
        return f"Not known, {self.words}" if self.is_unknown else self.words

    @property
    def is_unknown(self) -> bool:
        return self.line.status.state is State.UNKNOWN


def events_of(report: DueReport) -> list[CalendarEvent]:
    """One event for each due day and one for each booked day, by day, those of one day worst first.

    What is not known has no due day that counts.
    """
    events = []
    for line in report.lines():
        if line.status.governing_on and line.status.state is not State.UNKNOWN:
            events.append(CalendarEvent(line.status.governing_on, line, is_booking=False))
        if line.status.booked_for:
            events.append(CalendarEvent(line.status.booked_for, line, is_booking=True))
    return sorted(events, key=lambda event: (event.day, by_urgency(event.line.status), event.title))
