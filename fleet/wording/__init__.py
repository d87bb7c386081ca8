"""Due items in words: the same on pages, in mails and in commands."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from config import budgets, showing
from config.charts.road import Item
from fleet.core.ahead import is_forecast, is_on_road, stands_on
from fleet.core.defects import PutRight, Severity
from fleet.core.due import DayUnknown, DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.mot import earliest_keeping_date, is_window_in_doubt
from fleet.core.odometer import LEAST_PACE_DAYS, NoForecast
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason
from fleet.core.recurrence import adi_renewal_from, record_check_from
from fleet.core.stale import Stale
from fleet.core.tread import LEGAL_LEAST
from fleet.core.verdict import CarVerdict, MayTeach, TeacherVerdict, Verdict

STATE_WORDS: dict[State, str] = {
    State.OVERDUE: "Overdue",
    State.UNKNOWN: "Not known",
    State.DUE: "Due",
    State.BOOKED: "Booked",
    State.LATER: "Later",
}

VERDICT_WORDS: dict[Verdict, str] = {
    Verdict.OFF_THE_ROAD: "Off the road",
    Verdict.NOT_KNOWN: "Not known",
    Verdict.DUE: "Due",
    Verdict.NOTHING_AGAINST: "Nothing against it",
}

_DAY_UNKNOWN_WORDS: dict[DayUnknown, str] = {
    DayUnknown.NOTHING_RECORDED: "nothing is recorded",
    DayUnknown.NO_FIRST_REGISTRATION: "no MOT is recorded, nor when the car was first registered",
    DayUnknown.TUITION_NOT_CONFIRMED: "nobody has confirmed that the policy covers tuition",
    DayUnknown.POLICY_OF_FORMER_KEEPER: "the new keeper has not confirmed a policy that covers them for tuition",
    DayUnknown.TAX_OF_FORMER_KEEPER: "the new keeper has not taxed it: tax does not go with a car",
}
#: What to do about what is recorded, but may not hold.
_TO_CONFIRM: dict[DayUnknown, str] = {
    DayUnknown.TUITION_NOT_CONFIRMED: "Look in the policy whether it covers tuition by the member who keeps the car, "
    "and enter what you find.",
    DayUnknown.POLICY_OF_FORMER_KEEPER: "Insure the car for tuition by its new keeper, who then enters that policy.",
    DayUnknown.TAX_OF_FORMER_KEEPER: "Tax the car with DVLA, unless its registered keeper is the same as before: "
    "then enter who that is.",
}

_NO_FORECAST_WORDS: dict[NoForecast, str] = {
    NoForecast.NO_READINGS: "there is no odometer reading",
    NoForecast.ONE_READING: "there is only one odometer reading",
    NoForecast.READINGS_TOO_CLOSE: f"its odometer readings lie fewer than {LEAST_PACE_DAYS} days apart",
    NoForecast.NO_MILES_RUN: "its odometer readings show no miles run",
    NoForecast.TOO_FAR_AHEAD: "the car is hardly driven",
}


def distance(days_left: int) -> str:
    """How far off a day is, as people say it: "in 7 days", "tomorrow", "today", "3 days overdue"."""
    if days_left < 0:
        return f"{-days_left} day{'s' if days_left < -1 else ''} overdue"
    return {0: "today", 1: "tomorrow"}.get(days_left, f"in {days_left} days")


def when(status: DueStatus) -> str:
    """When an item is due: "5 March 2027, in 7 days"; or "45,000 miles, about 5 March 2027, in 7 days"."""
    miles = f"{showing.whole(status.due_miles)} miles: " if status.due_miles is not None else ""
    if status.governing_on is None or status.days_left is None:
        return f"{miles}{missing_words(status)}"
    if status.state is State.UNKNOWN:
        return f"recorded until {showing.day(status.governing_on)}, but {missing_words(status)}"
    if status.is_by_rule and status.state is State.OVERDUE:
        return f"needed from {showing.day(status.governing_on)} on, and none is recorded"
    if status.is_past_by_forecast:
        return f"{miles}{past_forecast_words(status.days_left)}"
    day_words = f"{showing.day(status.governing_on)}, {distance(status.days_left)}"
    if status.forecast is None or status.due_miles is None or not status.is_by_miles:
        return day_words
    link = "passed about" if status.forecast.is_past else "about"
    return f"{showing.whole(status.due_miles)} miles, {link} {day_words}"


def when_booked(status: DueStatus) -> str:
    """The same, but of a booked item the booked day first: "booked for 3 March 2027; due on 5 March 2027, in 7 days".

    One that is overdue or not known is booked all the same, and it says what that does not change.
    """
    words = when(status)
    if status.booked_for is None:
        return words
    if status.state is State.BOOKED:
        link = "at" if status.is_by_miles else "on"
        return f"booked for {showing.day(status.booked_for)}; due {link} {words}"
    return f"{words}, {still_off_words(status.kind, status.booked_for, status.state is State.OVERDUE)}"


def still_off_words(kind: str, booked_for: date, is_overdue: bool = True) -> str:
    """That something is booked, and if it is overdue and stops its car, that the booking does not put it back."""
    words = f"booked for {showing.day(booked_for)}"
    rules = DUE_KINDS[kind]
    if not (is_overdue and rules.stops_car):
        return words
    return f"{words}; until {'it has passed' if rules.is_mot else 'that is done'} the car stays off the road"


def past_forecast_words(days_left: int) -> str:
    """What is said of a day that only a forecast calls past: "by forecast, about 35 days ago: read the odometer"."""
    ago = "yesterday" if days_left == -1 else f"{-days_left} days ago"
    return f"by forecast, about {ago}: read the odometer"


def missing_words(status: DueStatus) -> str:
    """Why it is not known, or why there is no forecast; empty if nothing is missing."""
    if isinstance(status.missing, NoForecast):
        return f"no forecast, as {no_forecast_words(status.missing)}"
    return _DAY_UNKNOWN_WORDS[status.missing] if status.missing else ""


def no_forecast_words(missing: NoForecast) -> str:
    """Why no day can be foretold: the part of a sentence after "as"."""
    return _NO_FORECAST_WORDS[missing]


def forecast_words(status: DueStatus) -> str:
    """What a forecast day rests on; empty if there is none."""
    forecast = status.forecast
    if forecast is None:
        return ""
    age = {0: "today", 1: "yesterday"}.get(forecast.age, f"{forecast.age} days ago")
    read = f"last read on {showing.day(forecast.last_read_on)}, {age}"
    if forecast.is_past or forecast.pace is None:
        return f"By the odometer, {read}."
    pace = f"{showing.whole(forecast.pace.miles)} miles in {forecast.pace.days} days"
    return f"Forecast from {pace} before the odometer was {read}."


def sentence(title: str, status: DueStatus, on: date) -> str:
    """What falls due, as one says it on ``on``, without the full stop: "MOT runs out in 24 days".

    Inside its notice time the days are counted, before that the day is named; a booked one has the day of the booking.
    """
    if status.days_left is None or status.state is State.UNKNOWN:
        return f"Not known: {showing.within(title)}"
    if status.is_past_by_forecast and status.state is State.DUE:
        return f"{title}: {past_forecast_words(status.days_left)}"
    if status.is_by_rule and status.state is State.OVERDUE:
        return f"{title} needed, and none recorded"
    if status.state is State.BOOKED and status.booked_for:
        return f"{title} booked for {showing.near_day(status.booked_for, on)}"
    ends, ended = ("runs out", "ran out") if DUE_KINDS[status.kind].last_day else ("due", "was due")
    about = "about " if status.is_by_miles else ""
    if status.days_left < 0:
        ago = f"{-status.days_left} days ago" if status.days_left < -1 else "yesterday"
        booked = f", booked for {showing.near_day(status.booked_for, on)}" if status.booked_for else ""
        return f"{title} {ended} {about}{ago}{booked}"
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
        return f"Not known: {', '.join(showing.within(titles[status.kind]) for status in verdict.items)}"
    if verdict.items:
        [status] = verdict.items
        return sentence(titles[status.kind], status, on)
    if verdict.defects:
        more = f" and {len(verdict.defects) - 1} more" if len(verdict.defects) > 1 else ""
        return f"Keep an eye on: {verdict.defects[0].description}{more}"
    return f"Nothing against {showing.unbroken(mark)}"


def teacher_words(teacher: TeacherVerdict, on: date) -> str:
    """The verdict on a teacher in a sentence without its full stop; empty if nothing is recorded against them."""
    licence = teacher.licence
    if teacher.verdict is MayTeach.NOTHING_AGAINST:
        return ""
    if licence is None:
        return "Not known: registration or licence to teach"
    words = sentence(DUE_KINDS[licence.kind].words, licence, on)
    return f"No paid lessons: {words}" if teacher.verdict is MayTeach.NO_PAID_LESSONS else words


def to_do(status: DueStatus, nation: str = "GB") -> str:
    """What to do about an item in ``nation``, or what to enter if it is not known, in a sentence or two."""
    kind = DUE_KINDS[status.kind]
    if status.state is State.UNKNOWN:
        if isinstance(status.missing, NoForecast):
            return "Enter an odometer reading now and then, or give it a due day as well."
        return _TO_CONFIRM.get(status.missing, kind.to_enter) if status.missing else kind.to_enter
    words = kind.to_do_in(nation)
    if status.due_on is None or status.days_left is None or status.state is State.OVERDUE:
        return words
    on = status.due_on - timedelta(days=status.days_left)
    if kind.is_mot:
        return f"{words} {window_words(status.due_on, on)}"
    if kind.record_check_first and nation == "GB":
        return f"{words} {_renewal_words(status.due_on, on)}"
    return words


def _renewal_words(last_day: date, on: date) -> str:
    """When to ask for the criminal-record check and to renew; nothing is asked for by a day that has passed."""
    check_by, renew_from = record_check_from(last_day), adi_renewal_from(last_day)
    check = f"by {showing.day(check_by)}" if check_by >= on else "now"
    renew = f"from {showing.day(renew_from)}" if renew_from > on else "now"
    return f"Ask for the check {check}; renew {renew}."


def booked_late_words(status: DueStatus) -> str:
    """What it means that an item is booked for a day after it runs out; empty if it is in time."""
    last_day = status.governing_on
    if last_day is None or status.booked_for is None or status.booked_for <= last_day:
        return ""
    return (
        f"It is booked for after it runs out: give no lesson in the car after {showing.day(last_day)} "
        "until it is recorded as done."
    )


#: By so much the month before may be shorter.
_DAYS_IN_DOUBT = 3


def window_words(expiry: date, on: date) -> str:
    """The first day on which an MOT pass keeps the expiry day, as said on ``on``."""
    # No official example covers a day that the month before may lack.
    check = " (check that day with the test station)" if is_window_in_doubt(expiry) else ""
    if earliest_keeping_date(expiry) + timedelta(days=_DAYS_IN_DOUBT if check else 0) <= on:
        return "If it passes from now on, no days are lost."
    return f"If it passes on or after {showing.day(earliest_keeping_date(expiry))}{check}, no days are lost."


def tuition_words(is_met: bool | None, on: date | None = None) -> str:
    """Whether the insurance covers driving tuition, as found on a day; None: nobody has checked."""
    if is_met is None or on is None:
        return "Covers driving tuition: not known. Check the policy and correct this."
    return f"Covers driving tuition: {'yes' if is_met else 'no'}, checked on {showing.day(on)}."


def reason_words(reason: OffRoadReason) -> str:
    """Why a car must not be used for lessons: a sentence without its full stop."""
    if reason.defect is not None:
        about = f": {reason.about}" if reason.about else ""
        return f"{Severity(reason.name).words}{about}{waiting_words(reason.put_right)}"
    if reason.name == TREAD:
        return f"{reason.about.replace('_', ' ').capitalize()} tyre: less than {LEGAL_LEAST} mm of tread"
    if reason.name == NO_TUITION_COVER:
        return "The insurance does not cover driving tuition"
    words = DUE_KINDS[reason.name].words
    if reason.is_by_rule and reason.since:
        words = f"No {words} recorded, and it needs one from {showing.day(reason.since)} on"
    else:
        words = f"{words} ran out on {showing.day(reason.since)}" if reason.since else f"{words} has run out"
    return f"{words}, {still_off_words(reason.name, reason.booked_for)}" if reason.booked_for else words


def kind_words(name: str) -> str:
    """What is told of: a kind of due item, or a reason to be off the road, by its name."""
    if name in DUE_KINDS:
        return DUE_KINDS[name].words
    others = {TREAD: "Tread", NO_TUITION_COVER: "Cover for tuition"}
    return others[name] if name in others else Severity(name).words


def waiting_words(put_right: PutRight | None) -> str:
    """What follows the words of a defect that waits for a second member; empty if it does not."""
    if put_right is None:
        return ""
    by = f" by {put_right.by}" if put_right.by else ""
    return f", put right{by} on {showing.day(put_right.on)}, waits for a second member"


def reasons_in_short(reasons: Sequence[OffRoadReason]) -> list[str]:
    """The gravest of a car's reasons in words, and how many more there are."""
    named = [reason_words(reason) for reason in reasons[: budgets.REASONS_NAMED]]
    more = len(reasons) - len(named)
    return [*named, f"and {more} more"] if more else named


def stale_words(stale: Stale) -> str:
    """What was last read too long ago, without a full stop: short, because it is a line of a phone's first screen."""
    return f"{stale.gauge.capitalize()} read {stale.days} days ago"
