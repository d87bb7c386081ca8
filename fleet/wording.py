"""Due items in words: the same on pages, in mails and in commands."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from config import budgets, showing
from config.charts.road import Item
from fleet.core.ahead import is_forecast, is_on_road, stands_on
from fleet.core.defects import Severity
from fleet.core.due import DayUnknown, DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.mot import earliest_keeping_date, is_window_in_doubt
from fleet.core.points import NextCheck
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason, gravity
from fleet.core.recurrence import adi_renewal_from, record_check_from
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST
from fleet.core.verdict import CarVerdict, Verdict
from fleet.core.wear import GAUGE_ERROR, TreadLimit, TreadState, WearUnknown

STATE_WORDS: dict[State, str] = {
    State.OVERDUE: "Overdue",
    State.UNKNOWN: "Not known",
    State.DUE: "Due soon",
    State.BOOKED: "Booked",
    State.LATER: "Later",
}

_DAY_UNKNOWN_WORDS: dict[DayUnknown, str] = {
    DayUnknown.NOTHING_RECORDED: "nothing is recorded",
    DayUnknown.NO_FIRST_REGISTRATION: "no MOT is recorded, nor when the car was first registered",
    DayUnknown.NO_READINGS: "no forecast, as there is no odometer reading",
    DayUnknown.NO_MILES_RUN: "no forecast, as the readings show no miles run in the last 90 days",
    DayUnknown.TOO_FAR_AHEAD: "no forecast, as the car is hardly driven",
}

_NO_FORECAST = frozenset({DayUnknown.NO_READINGS, DayUnknown.NO_MILES_RUN, DayUnknown.TOO_FAR_AHEAD})

TREAD_STATE_WORDS: dict[TreadState, str] = {
    TreadState.UNLAWFUL: f"Below {LEGAL_LEAST} mm",
    TreadState.READ_AGAIN: "Read it again now",
    TreadState.LOW: f"Down to {PRACTICE_LEAST} mm",
    TreadState.ABOVE: f"Above {PRACTICE_LEAST} mm",
    TreadState.NOT_READ: "Not read",
}

_UNKNOWN_WEAR_WORDS: dict[WearUnknown, str] = {
    WearUnknown.NO_READINGS: "its tread has not been read",
    WearUnknown.ONE_READING: "it has been read only once, and wear shows between two readings",
    WearUnknown.NO_MILES_KNOWN: "fewer than two of its readings lie between readings of the odometer",
    WearUnknown.NO_MILES_BETWEEN: "no miles were run between its readings",
    WearUnknown.RISING: f"its tread rose by more than {GAUGE_ERROR} mm between readings: a different tyre, or a slip",
    WearUnknown.NOT_FALLING: "its readings do not fall: a different tyre, or a slip",
    WearUnknown.NO_MILES_RUN: "the odometer shows no miles run in the last 90 days",
    WearUnknown.TOO_FAR_AHEAD: "the car is hardly driven",
}


def distance(days_left: int) -> str:
    """How far off a day is, as people say it: "in 7 days", "tomorrow", "today", "3 days overdue"."""
    if days_left < 0:
        return f"{-days_left} day{'s' if days_left < -1 else ''} overdue"
    return {0: "today", 1: "tomorrow"}.get(days_left, f"in {days_left} days")


def when(status: DueStatus) -> str:
    """When an item is due: "5 March 2027, in 7 days"; or "45,000 miles, about 5 March 2027, in 7 days"."""
    if status.governing_on is None or status.days_left is None:
        miles = f"{showing.whole(status.due_miles)} miles: " if status.due_miles is not None else ""
        return f"{miles}{missing_words(status)}"
    day_words = f"{showing.day(status.governing_on)}, {distance(status.days_left)}"
    if status.forecast is None or status.due_miles is None or not status.is_by_miles:
        return day_words
    link = "passed about" if status.forecast.is_past else "about"
    return f"{showing.whole(status.due_miles)} miles, {link} {day_words}"


def when_booked(status: DueStatus) -> str:
    """The same, but of a booked item the booked day first: "booked for 3 March 2027; due on 5 March 2027, in 7 days".

    A booked item always has a day, as one without is not known and one that is past is overdue.
    """
    words = when(status)
    if status.state is not State.BOOKED or status.booked_for is None:
        return words
    link = "at" if status.is_by_miles else "on"
    return f"booked for {showing.day(status.booked_for)}; due {link} {words}"


def missing_words(status: DueStatus) -> str:
    """Why there is no day, or no forecast of one; empty if nothing is missing."""
    return _DAY_UNKNOWN_WORDS[status.missing] if status.missing else ""


def forecast_words(status: DueStatus) -> str:
    """What a forecast day rests on; empty if there is none."""
    forecast = status.forecast
    if forecast is None:
        return ""
    read = f"last read on {showing.day(forecast.last_read_on)}"
    if forecast.is_past:
        return f"By the odometer, {read}."
    return f"Forecast from {showing.whole(forecast.miles)} miles in {forecast.days} days; {read}."


def sentence(title: str, status: DueStatus, on: date) -> str:
    """What falls due, as one says it on ``on``, without the full stop: "MOT runs out in 24 days".

    Inside its notice time the days are counted, before that the day is named; a booked one has the day of the booking.
    """
    if status.days_left is None:
        return f"Not known: {title}"
    if status.state is State.BOOKED and status.booked_for:
        return f"{title} booked for {showing.near_day(status.booked_for, on)}"
    ends, ended = ("runs out", "ran out") if DUE_KINDS[status.kind].last_day else ("due", "was due")
    about = "about " if status.is_by_miles else ""
    if status.days_left < 0:
        ago = f"{-status.days_left} days ago" if status.days_left < -1 else "yesterday"
        return f"{title} {ended} {about}{ago}"
    if status.state is State.DUE and status.days_left > 1:
        return f"{title} {ends} in {about}{status.days_left} days"
    link = about or ("on " if status.days_left > 1 else "")
    return f"{title} {ends} {link}{showing.near_day(on + timedelta(days=status.days_left), on)}"


def road_items(items: Iterable[tuple[str, DueStatus]], on: date) -> tuple[Item, ...]:
    """What stands on the road that begins on ``on``, of due items with their titles, each at its day."""
    return tuple(
        Item(title, at, status.state.value, DUE_KINDS[status.kind].notice_days, is_forecast(status))
        for title, status in items
        if (at := stands_on(status)) is not None and is_on_road(status, on)
    )


def verdict_words(verdict: CarVerdict, mark: str, titles: Mapping[str, str], on: date) -> str:
    """The verdict on a car in a sentence without its full stop; ``titles`` are those of its due items, by kind.

    "Nothing against" a car means that nothing is recorded: nobody says that it is fit.
    """
    if verdict.verdict is Verdict.OFF_THE_ROAD:
        return f"{showing.unbroken(mark)} is off the road"
    if verdict.verdict is Verdict.NOT_KNOWN:
        return f"Not known: {', '.join(titles[status.kind] for status in verdict.items)}"
    if verdict.items:
        [status] = verdict.items
        return sentence(titles[status.kind], status, on)
    if verdict.defects:
        more = f" and {len(verdict.defects) - 1} more" if len(verdict.defects) > 1 else ""
        return f"Keep an eye on: {verdict.defects[0].description}{more}"
    return f"Nothing against {showing.unbroken(mark)}"


def to_do(status: DueStatus, nation: str = "GB") -> str:
    """What to do about an item in ``nation``, or what to enter if it is not known, in a sentence or two."""
    kind = DUE_KINDS[status.kind]
    if status.state is State.UNKNOWN:
        if status.missing in _NO_FORECAST:
            return "Enter an odometer reading now and then, or give it a due day as well."
        return kind.to_enter
    words = kind.to_do_in(nation)
    if status.due_on is None or status.state is State.OVERDUE:
        return words
    if kind.is_mot:
        return f"{words} {window_words(status.due_on)}"
    if kind.record_check_first and nation == "GB":
        begin, renew = record_check_from(status.due_on), adi_renewal_from(status.due_on)
        return f"{words} Ask for the check by {showing.day(begin)}; renew from {showing.day(renew)}."
    return words


def booked_late_words(status: DueStatus) -> str:
    """What it means that an item is booked for a day after it runs out; empty if it is in time."""
    last_day = status.governing_on
    if last_day is None or status.booked_for is None or status.booked_for <= last_day:
        return ""
    return (
        f"It is booked for after it runs out: give no lesson in the car after {showing.day(last_day)} "
        "until it is recorded as done."
    )


def window_words(expiry: date) -> str:
    """The first day on which an MOT pass keeps the expiry day."""
    # No official example covers a day that the month before may lack.
    check = " (check that day with the test station)" if is_window_in_doubt(expiry) else ""
    return f"If it passes on or after {showing.day(earliest_keeping_date(expiry))}{check}, no days are lost."


def tuition_words(is_met: bool | None, on: date | None = None) -> str:
    """Whether the insurance covers driving tuition, as found on a day; None: nobody has checked."""
    if is_met is None or on is None:
        return "Covers driving tuition: not known. Check the policy and correct this."
    return f"Covers driving tuition: {'yes' if is_met else 'no'}, checked on {showing.day(on)}."


def reason_words(reason: OffRoadReason) -> str:
    """Why a car must not be used for lessons: a sentence without its full stop."""
    if reason.defect is not None:
        return f"{Severity(reason.name).words}: {reason.about}"
    if reason.name == TREAD:
        return f"{reason.about.replace('_', ' ').capitalize()} tyre: less than {LEGAL_LEAST} mm of tread"
    if reason.name == NO_TUITION_COVER:
        return "The insurance does not cover driving tuition"
    words = DUE_KINDS[reason.name].words
    return f"{words} ran out on {showing.day(reason.since)}" if reason.since else f"{words} has run out"


def reasons_in_short(reasons: Sequence[OffRoadReason]) -> list[str]:
    """The gravest of a car's reasons in words, and how many more there are."""
    named = [reason_words(reason) for reason in sorted(reasons, key=gravity)[: budgets.REASONS_NAMED]]
    more = len(reasons) - len(named)
    return [*named, f"and {more} more"] if more else named


def last_check_words(check: NextCheck) -> str:
    """When a car was last checked and when the next check is due."""
    if check.days_since is None:
        return "No check is in the book yet."
    ago = {0: "today", 1: "yesterday"}.get(check.days_since, f"{check.days_since} days ago")
    return f"Last checked {ago}. Next check due on {showing.day(check.due_on)}."


def took_words(seconds: int) -> str:
    """How long a check took: "40 seconds", "4 minutes"."""
    if seconds < 60:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    minutes = (seconds + 30) // 60
    return f"{minutes} minute{'' if minutes == 1 else 's'}"


def unknown_wear_words(missing: WearUnknown) -> str:
    """Why there is no forecast of a tyre's wear, or no day: the part of a sentence after "as"."""
    return _UNKNOWN_WEAR_WORDS[missing]


def limit_words(limit: TreadLimit) -> str:
    """When a tyre reaches a limit: "in about 10,400 miles, about 18 August 2027"; empty if it cannot be worked out."""
    if limit.is_below:
        return "below it now"
    if limit.miles is None:
        return ""
    if not limit.miles:
        return "at its rate of wear, reached by now"
    miles = f"in about {showing.whole(limit.miles)} miles"
    if limit.missing:
        return f"{miles}; no day, as {unknown_wear_words(limit.missing)}"
    return f"{miles}, about {showing.day(limit.on)}" if limit.on else miles
