"""The acts of a member's record in words, for the record page and the mails."""

import re
from collections.abc import Collection, Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

from django.utils import timezone

from config.showing import day, percent, whole
from instructors.models import Act
from instructors.queries import names_of

#: What a changed field is called, in a list and in a mail's subject.
CHANGED = {
    "registration": "registration mark",
    "description": "description",
    "fuel": "fuel",
    "transmission": "gearbox",
    "soft_top": "soft top",
    "dual_controls": "dual controls",
    "first_registered": "day of first registration",
    "co2_g_km": "CO2 in g/km",
    "in_service_from": "first day in service",
    "in_service_to": "last day in service",
    "keeper": "keeper",
    "registered_keeper": "registered keeper",
    "name": "your name",
    "grade": "your grade",
    "role": "your role",
    "email_changed": "your e-mail address",
    "joined_on": "the day you joined",
    "left_on": "your last day as a member",
    "minimum_contributors": "contributors needed for group figures",
    "depreciation_rate": "yearly loss of value",
    "closing_day": "closing day",
    "rounding": "rounding of group figures",
    "coordinators_need_second_factor": "second step for coordinators",
    "check": "record of a walkaround check",
    "completion": "record of work done",
}
#: What happened, where there is nothing to show before and after.
HAPPENED = {
    "car": "entered in the book, with you as its keeper",
    "handed_over_on": "day of the handover",
    "defects_open": "defects open on it",
    "items_pressing": "due on it, overdue or not known",
    "signed_in": "signed in",
    "second_step_failed": "wrong code at the second step",
    "sign_in_refused": "sign-in refused after too many wrong tries",
    "password_changed": "password changed",
    "app_set_up": "authenticator app set up",
    "app_taken_off": "authenticator app removed",
    "passkey_added": "passkey added",
    "passkey_removed": "passkey removed",
    "recovery_codes_made": "new recovery codes made",
    "recovery_code_used": "recovery code used",
    "factors_forgotten": "second step removed on the server",
    "joined": "joined by an invitation link",
    "feed_opened": "calendar address made",
    "feed_revoked": "calendar address switched off",
    "feed_read": "calendar read by a program",
    "exported": "own records downloaded",
    "erased": "all that was theirs erased, at their request",
    "due_item_added": "due item entered",
    "due_item_changed": "due item corrected",
    "due_item_booked": "due item booked",
    "due_item_unbooked": "booking cancelled",
    "due_item_completed": "due item recorded as done",
    "mot_failed": "failed MOT recorded",
    "checked": "walkaround check recorded",
    "defect_reported": "defect reported",
    "defect_in_hand": "defect being dealt with",
    "defect_judged": "defect reassessed",
    "defect_closed": "defect closed",
    "defect_waits": "dangerous defect said to be over",
    "defect_confirmed": "end of a dangerous defect confirmed",
    "defect_denied": "end of a dangerous defect denied",
    "defect_reopened": "defect reopened",
    "tread_read": "tread recorded",
    "tyres_moved": "tyres recorded as fitted or moved",
    "points_confirmed": "readiness answers recorded",
    "policy_answered": "insurance answers recorded",
    "photo_kept": "photo kept",
    "reminded": "reminder sent to you",
}
#: Shorter words for a subject that lists several.
_IN_SHORT = {"in_service_from": "days in service", "in_service_to": "days in service", "handed_over_on": "keeper"}
_IN_SHORT |= {"defects_open": "keeper", "items_pressing": "keeper"}
_ENTERED = HAPPENED["car"]
_VALUES = {"plugin_hybrid": "plug-in hybrid"}
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_READING = "reading:"
#: The fields that hold a member, and what is said for none.
_MEMBERS = {"keeper": "nobody", "registered_keeper": "no member"}
#: Heads the acts about the reader themselves rather than about a car or the settings.
_YOU = "you"


class ActWords(NamedTuple):
    """An act in words: what was done, by whom, and what it was and is now.

    ``was`` and ``now`` are empty for a value that was not set or has been removed, and if ``is_change`` is false.
    """

    act: Act
    title: str
    who: str
    was: str
    now: str
    is_change: bool


def acts_in_words(acts: Iterable[Act], reader: int) -> list[ActWords]:
    """Each act in words for the member with id ``reader``; one query for all names."""
    acts = list(acts)
    names = names_of({key for act in acts if act.field in _MEMBERS for key in (act.was, act.now) if key})
    return [_words(act, reader, names) for act in acts]


def subject_of(acts: Collection[Act]) -> str:
    """The subject of a mail about acts by one person: the first thing, and how many more there are."""
    groups: dict[str, list[str]] = {}
    for act in acts:
        briefs = groups.setdefault(act.about or _heading(act), [])
        if _brief(act) not in briefs:
            briefs.append(_brief(act))
    (about, briefs), *more = groups.items()
    rest = f"; and {len(more)} more" if more else ""
    first = next(iter(acts))
    if about == _YOU:
        in_the_book = " in the book" if first.by else ""
        return f"{_capital(_by(first))} changed {_listed(briefs)}{in_the_book}{rest}"
    done = "entered for you" if _ENTERED in briefs else f"{_listed(briefs)} changed"
    return f"{about}: {done} by {_by(first)}{rest}"


def _words(act: Act, reader: int, names: dict[str, str]) -> ActWords:
    is_change = act.field in CHANGED or act.field.startswith(_READING)
    title = f"{act.about}: {_field(act)}" if act.about else _field(act)
    who = "you" if act.by_id == reader else _by(act)
    if not is_change:
        return ActWords(act, _capital(title), who, "", _value(act, act.now, names), False)
    was, now = _value(act, act.was, names), _value(act, act.now, names)
    if act.field == "closing_day":
        now += f", from {_month_after(act)}'s figures on"
    return ActWords(act, _capital(title), who, was, now, True)


def _by(act: Act) -> str:
    return act.by.name if act.by else "the book itself"


def _field(act: Act) -> str:
    if act.field.startswith(_READING):
        return f"odometer on {_day(act.field.removeprefix(_READING))}"
    return CHANGED.get(act.field) or HAPPENED.get(act.field) or act.get_kind_display()


def _brief(act: Act) -> str:
    return "odometer" if act.field.startswith(_READING) else _IN_SHORT.get(act.field, _field(act))


def _heading(act: Act) -> str:
    return "Co-op settings" if act.subject == "settings" else _YOU


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else words[0]


def _value(act: Act, text: str, names: dict[str, str]) -> str:
    """A value of the act's field as people say it."""
    if act.field in _MEMBERS:
        return names.get(text, text) if text else _MEMBERS[act.field]
    if not text:
        return ""
    if act.field.startswith(_READING):
        return f"{whole(int(text))} miles"
    if act.field == "rounding":
        return f"{text}p a lesson hour"
    if act.field == "closing_day":
        return f"the {_ordinal(int(text))} of the next month"
    if act.field == "depreciation_rate":
        return percent(f"{(Decimal(text) * 100).normalize():f}")
    return _day(text) if _DAY.fullmatch(text) else _VALUES.get(text, text)


def _day(text: str) -> str:
    return day(date.fromisoformat(text))


def _month_after(act: Act) -> str:
    """The month after the act's: a new closing day counts from its figures on."""
    done_on = timezone.localdate(act.happened_at)
    return f"{done_on.replace(day=28) + timedelta(days=4):%B}"


def _ordinal(number: int) -> str:
    """1st, 2nd, 12th."""
    ending = "th" if number in {11, 12, 13} else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
