"""What the home page says first: the cars that must not be used, then one sentence each for what matters next."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from django.urls import reverse

from config import budgets
from config.showing import near_day
from costing.wording.lines import Line
from fleet.core.ahead import stands_on
from fleet.core.due import State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason
from fleet.core.registration import show
from fleet.core.stale import Gauge, Stale
from fleet.core.verdict import CarVerdict, MayTeach, Verdict
from fleet.models import Car
from fleet.queries import CarDue, DueLine, DueReport
from fleet.wording import reason_words, sentence, stale_words, teacher_words, verdict_words


class HomeSentence(NamedTuple):
    """One sentence of the verdict: the page it opens, and the silhouette of a state or an icon before it."""

    words: str
    to: str
    state: str = ""
    days_left: int | None = None
    notice_days: int = 30
    icon: str = ""


class ReasonWithWay(NamedTuple):
    """Why a car is off the road, and the page on which it is put right."""

    words: str
    to: str
    way: str


class OffTheRoad(NamedTuple):
    """A car that must not be used for lessons: its reasons, worst first, and how many more there are."""

    car: Car
    reasons: list[ReasonWithWay]
    more: int


def stopped(due: CarDue) -> OffTheRoad:
    """A car off the road, with the worst of its reasons."""
    named = due.reasons[: budgets.REASONS_NAMED]
    return OffTheRoad(due.car, [_reason(reason, due) for reason in named], len(due.reasons) - len(named))


def _reason(reason: OffRoadReason, due: CarDue) -> ReasonWithWay:
    return ReasonWithWay(reason_words(reason), *_way_back(reason, due))


def _way_back(reason: OffRoadReason, due: CarDue) -> tuple[str, str]:
    """The address on which a reason is put right, and what is done there."""
    mark = due.registration
    if reason.defect is not None:
        return reverse("fleet:defect", args=[reason.defect]), "Who has seen it?" if reason.put_right else "Put right"
    if reason.name == TREAD:
        return reverse("fleet:tread", args=[mark]), "Change the tyre"
    if reason.name == NO_TUITION_COVER:
        return reverse("fleet:ready", args=[mark]), "Confirm the cover"
    items = {line.kind.name: line.item_id for line in due.items}
    if (item_id := items.get(reason.name)) is not None:
        return reverse("fleet:due-item-complete", args=[item_id]), DUE_KINDS[reason.name].done_words
    return f"{reverse('fleet:due-item-add', args=[mark])}?kind={reason.name}", "Enter it"


def sentences_of(
    own: DueReport, last_entry_on: date | None, stale: Mapping[int, Sequence[Stale]], odd: Line | None
) -> list[HomeSentence]:
    """The verdict on the member's own cars that are on the road, then the next deadline, how far one has logged, and
    what looks ``odd``.

    If something was not read for long (``stale``, by car id), it is asked for instead of saying how far one has logged.
    A licence to teach that has run out comes before the deadline. Nothing is said of a member without a car.
    """
    if not own.cars:
        return []
    verdicts = [(due, due.verdict) for due in own.cars]
    said = {(due.registration, status.kind) for due, verdict in verdicts for status in verdict.items}
    said |= {(due.registration, reason.name) for due in own.cars for reason in due.reasons}
    lines = own.lines()
    return [
        *_verdicts(sorted(verdicts, key=lambda pair: list(Verdict).index(pair[1].verdict)), own.on),
        *_teachers(own),
        *_next_deadline([line for line in lines if (line.subject.key, line.kind.name) not in said], own.on),
        _to_read(own, stale) or _logged(last_entry_on, own.on),
        *([HomeSentence(odd.words, odd.to, icon=odd.icon)] if odd else []),
    ]


def _verdicts(verdicts: list[tuple[CarDue, CarVerdict]], on: date) -> Iterator[HomeSentence]:
    for due, verdict in verdicts:
        if verdict.verdict is Verdict.OFF_THE_ROAD:
            continue
        mark = show(due.registration)
        words = verdict_words(verdict, mark, due.titles, on)
        if len(verdicts) > 1 and verdict.verdict is not Verdict.NOTHING_AGAINST:
            words = f"{mark}: {words}"
        to = reverse("fleet:car", args=[due.registration])
        if not verdict.items:
            yield HomeSentence(words, to, State.DUE if verdict.defects else State.LATER)
            continue
        status = verdict.items[0]
        yield HomeSentence(words, to, status.state, status.days_left, DUE_KINDS[status.kind].notice_days)


def _teachers(own: DueReport) -> Iterator[HomeSentence]:
    """That the member may not be paid for lessons now."""
    for one in own.members:
        if one.verdict.verdict is MayTeach.NO_PAID_LESSONS:
            yield HomeSentence(teacher_words(one.verdict, own.on), reverse("fleet:profile"), State.OVERDUE)


def _next_deadline(lines: list[DueLine], on: date) -> Iterator[HomeSentence]:
    """What comes next of all that has a day to come, or what a car already needed: its page says that first too."""
    days = [(day, line) for line in lines if (day := stands_on(line.status)) is not None]
    pressing = [(day, line) for day, line in days if day >= on or line.subject.car]
    if pressing:
        yield _of_line(min(pressing, key=lambda pair: pair[0])[1], on)


def _of_line(line: DueLine, on: date) -> HomeSentence:
    status = line.status
    return HomeSentence(
        sentence(line.title, status, on), place_of(line), status.state, status.days_left, line.kind.notice_days
    )


def place_of(line: DueLine) -> str:
    """The address of the page that says all about a due item and offers what can be done about it."""
    car = line.subject.car
    return f"{reverse('fleet:car', args=[car.registration])}#due" if car else reverse("fleet:profile")


def _to_read(own: DueReport, stale: Mapping[int, Sequence[Stale]]) -> HomeSentence | None:
    """The gauge of the member's own cars that is most worth reading again, if there is one."""
    found = [(each, due) for due in own.cars for each in stale.get(due.car.pk, ())]
    if not found:
        return None
    worst, due = min(found, key=lambda pair: (list(Gauge).index(pair[0].gauge), -pair[0].days))
    mark = f"{show(due.registration)}: " if len(own.cars) > 1 else ""
    to = reverse(f"fleet:{worst.gauge}-add", args=[due.registration])
    return HomeSentence(f"{mark}{stale_words(worst)}", to, icon="car")


def _logged(last_entry_on: date | None, on: date) -> HomeSentence:
    if last_entry_on is None:
        return HomeSentence("Nothing is logged yet", reverse("costing:fill-log"), icon="entries")
    return HomeSentence(f"Logged up to {near_day(last_entry_on, on)}", reverse("costing:entries"), icon="entries")
