"""The mail of grave news: a defect that stops a car, what was done about it, and who is to confirm that."""

from collections.abc import Iterable
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from config.showing import day
from config.site import address_of
from fleet.core import registration as marks
from fleet.core.defects import Severity
from fleet.models import Car, Defect, DefectState, DefectStep, Evidence, ReminderMail
from fleet.queries import StepKind, due_report, is_grave_news, kind_of_step, secret_of
from fleet.reminders.letters.parts import Letter
from fleet.reminders.letters.phrases import and_more
from fleet.wording import reason_words

_OF_STEP, _OF_CAR = "defect-", "car-"
_DENIED = "it is not put right"


class News(NamedTuple):
    """One defect in the mail: what is told of it in sentences, and where to go on.

    ``stops`` says whether it keeps the car off the road; ``answer_link`` is where a second member answers, if one is
    asked.
    """

    defect: Defect
    severity_words: str
    sentences: list[str]
    brief: str
    stops: bool
    link: str
    answer_link: str
    photo_link: str


def defect_letter(mail: ReminderMail, on: date) -> Letter | None:
    """What happened to the defects of one event or, after a handover, all that stop the car now; ``about`` names which.

    None once none of it holds any more or later news tells of it, or if it no longer concerns the recipient.
    """
    steps = [one for one in _steps(mail.about) if _concerns(mail, one.defect.car)]
    found = [news for step in steps if (news := _news(step))]
    if not found:
        return None
    found.sort(key=lambda news: (not news.stops, list(Severity).index(Severity(news.defect.severity))))
    car = found[0].defect.car
    mark = marks.show(car.registration)
    stopping = [news for news in found if news.stops]
    context = {
        "recipient": mail.recipient,
        "mark": mark,
        "news": found,
        "stops": bool(stopping),
        "is_dangerous": any(news.defect.severity == Severity.DANGEROUS for news in stopping),
        "asks": any(news.answer_link for news in found),
        "still": [] if stopping else _still_against(car, on),
        "subject": f"{_lead(found[0], mark)}: {found[0].defect.description[:80]}{and_more(len(found) - 1)}",
    }
    return Letter("fleet/mail/defect", context)


def _steps(about: str) -> list[DefectStep]:
    """The steps that a mail is to tell of, with all that is told of them."""
    steps = DefectStep.objects.select_related("by", "defect__car__keeper", "defect__reported_by")
    if about.startswith(_OF_STEP):
        key = int(about.removeprefix(_OF_STEP))
        return [*steps.filter(pk=key), *steps.filter(began_with=key).order_by("pk")]
    still_open = Defect.objects.filter(car=int(about.removeprefix(_OF_CAR))).exclude(state=DefectState.CLOSED)
    told = [_latest_news(steps.filter(defect=defect).order_by("pk")) for defect in still_open.order_by("pk")]
    return [step for step in told if step]


def _latest_news(steps: Iterable[DefectStep]) -> DefectStep | None:
    before, latest = None, None
    for step in steps:
        latest = step if is_grave_news(step, before) else latest
        before = step
    return latest


def _concerns(mail: ReminderMail, car: Car) -> bool:
    return mail.recipient.is_coordinator or car.keeper == mail.recipient


def _news(step: DefectStep) -> News | None:
    """What is told of a step; None if a later one is told by its own mail, or the defect stands otherwise by now."""
    defect = step.defect
    steps = list(defect.steps.select_related("by"))
    before = next((one for one in reversed(steps) if one.pk < step.pk), None)
    stands = (defect.state == DefectState.CLOSED, defect.severity)
    said = (step.state == DefectState.CLOSED, step.severity)
    stops = defect.state != DefectState.CLOSED and Severity(defect.severity).stops_car
    kind = kind_of_step(step, before)
    # Closing what was found less serious is no grave news, so no mail of its own tells either.
    is_closed_since = kind is StepKind.LOWERED and defect.state == DefectState.CLOSED
    if (stands != said and not is_closed_since) or not (stops or is_grave_news(step, before)):
        return None
    if any(is_grave_news(later, earlier) for earlier, later in pairwise(steps) if later.pk > step.pk):
        return None
    waits = defect.state == DefectState.WAITING
    photo = step.photo_id or defect.photo_id
    return News(
        defect,
        Severity(defect.severity).words,
        [
            *_sentences(step, kind, [one for one in steps if one.pk < step.pk]),
            *([_said(steps[-1])] if is_closed_since else []),
        ],
        _brief(step, kind),
        stops,
        address_of("fleet:defect", defect.pk),
        address_of("fleet:defect-confirm", secret_of(step)) if waits else "",
        address_of("fleet:photo", photo) if photo else "",
    )


def _sentences(step: DefectStep, kind: StepKind, earlier: list[DefectStep]) -> list[str]:
    """What happened, in sentences; of an answer also what was answered."""
    on, who = day(step.happened_on), step.by.name
    if kind in (StepKind.CONFIRMED, StepKind.DENIED):
        claim = _said(earlier[-1])
        answer = f"{who} has seen it and confirms that" if kind is StepKind.CONFIRMED else f"{who} says that {_DENIED}"
        return [claim, _with(f"{answer}, {on}", step.words)]
    defect = step.defect
    reported = f"Reported by {defect.reported_by.name}, found on {day(defect.found_on)}."
    if kind is StepKind.REPORTED:
        return [reported]
    if kind in (StepKind.WAITS, StepKind.CLOSED):
        return [reported, _said(step)]
    did = "reopened it" if kind is StepKind.REOPENED else "set how serious it is"
    as_told = f", as {step.done_by} says" if step.done_by else ""
    return [reported, _with(f"{who} {did} on {on}{as_told}", step.words)]


def _said(step: DefectStep) -> str:
    """What was said to have been done: "Put right by Wharf Lane Motors on 16 March 2026: New hose. Recorded by ..."."""
    what = f"Said to be “{Severity(step.becomes).words}”" if step.becomes else "Put right"
    by = f" by {step.done_by}" if step.done_by else ""
    shown = " with a photo of the paper" if step.evidence == Evidence.PHOTO else ""
    return f"{_with(f'{what}{by} on {day(step.happened_on)}', step.words)} Recorded by {step.by.name}{shown}."


def _with(start: str, words: str) -> str:
    """A sentence, with somebody's own words after a colon if there are any."""
    whole = f"{start}: {words}" if words else start
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."


def _brief(step: DefectStep, kind: StepKind) -> str:
    """What sets the news apart in a subject, after the mark; empty for a defect that stops the car."""
    if kind is StepKind.WAITS:
        return "waits for a second member"
    if kind is StepKind.DENIED:
        return _DENIED
    if step.state == DefectState.CLOSED:
        return "recorded as put right"
    return "" if Severity(step.severity).stops_car else "found less serious"


def _lead(news: News, mark: str) -> str:
    if not news.stops:
        return f"{mark}, {news.brief}"
    lead = f"Do not use {mark}" if news.defect.severity == Severity.DANGEROUS else f"No lesson in {mark}"
    return f"{lead}, {news.brief}" if news.brief else lead


def _still_against(car: Car, on: date) -> list[str]:
    """Why the car is off the road all the same, in words."""
    return [reason_words(reason) for due in due_report(on, cars=[car]).cars for reason in due.reasons]
