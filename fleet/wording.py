"""Due items in words, the same on pages, in mails and in commands."""

from config import showing
from fleet.core.due import DueStatus, Missing, State
from fleet.core.kinds import KINDS
from fleet.core.mot import earliest_keeping_date
from fleet.core.readiness import NO_TUITION_COVER, TREAD, Reason
from fleet.core.tread import LEGAL_LEAST

STATE_WORDS: dict[State, str] = {
    State.OVERDUE: "Overdue",
    State.UNKNOWN: "Not known",
    State.DUE: "Due soon",
    State.BOOKED: "Booked",
    State.LATER: "Later",
}

SEVERITY_WORDS: dict[str, str] = {
    "dangerous": "Dangerous, do not drive",
    "before_next_lesson": "To be put right before the next lesson",
    "watch": "To be watched",
}

_MISSING_WORDS: dict[Missing, str] = {
    Missing.NOTHING_RECORDED: "nothing is recorded",
    Missing.NO_FIRST_REGISTRATION: "no MOT is recorded, nor when the car was first registered",
    Missing.NO_READINGS: "no forecast, as there is no odometer reading",
    Missing.NO_MILES_RUN: "no forecast, as the readings show no miles run in the last 90 days",
    Missing.TOO_FAR_AHEAD: "no forecast, as the car is hardly driven",
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


def missing_words(status: DueStatus) -> str:
    """Why there is no day, or no forecast of one; empty if nothing is missing."""
    return _MISSING_WORDS[status.missing] if status.missing else ""


def forecast_words(status: DueStatus) -> str:
    """What a forecast day rests on; empty if there is none."""
    forecast = status.forecast
    if forecast is None:
        return ""
    read = f"last read on {showing.day(forecast.last_read_on)}"
    if forecast.is_past:
        return f"By the odometer, {read}."
    return f"Forecast from {showing.whole(forecast.miles)} miles in {forecast.days} days; {read}."


def to_do(status: DueStatus) -> str:
    """What is to be done about an item, in a sentence or two."""
    words = KINDS[status.kind].to_do
    if status.kind != "mot" or status.due_on is None or status.state is State.OVERDUE:
        return words
    # No official example settles a day of the month that the month before may lack.
    check = " (check that day with the test station)" if status.due_on.day > 28 else ""
    earliest = showing.day(earliest_keeping_date(status.due_on))
    return f"{words} Passed on or after {earliest}{check}, it loses no days."


def reason_words(reason: Reason) -> str:
    """Why a car must not be used for lessons: a sentence without its full stop."""
    if reason.defect is not None:
        return f"{SEVERITY_WORDS[reason.name]}: {reason.about}"
    if reason.name == TREAD:
        return f"{reason.about.replace('_', ' ').capitalize()} tyre: less than {LEGAL_LEAST} mm of tread"
    if reason.name == NO_TUITION_COVER:
        return "The insurance does not cover driving tuition"
    words = KINDS[reason.name].words
    return f"{words} ran out on {showing.day(reason.since)}" if reason.since else f"{words} has run out"
