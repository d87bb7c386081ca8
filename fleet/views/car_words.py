"""How a car stands, why it is off the road, what brings it back, and its road ahead: ready for its page."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from django.urls import reverse

from config.charts.road import RoadAhead
from config.showing import day, on_one_line
from fleet.core.defects import Severity
from fleet.core.due import State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason
from fleet.core.registration import show
from fleet.core.tread import LEGAL_LEAST
from fleet.core.verdict import CarVerdict, Verdict
from fleet.queries import CarDue, DueLine
from fleet.views.tyre_words import wheel_words
from fleet.wording import road_items, sentence, still_off_words, verdict_words, waiting_words

_INSURANCE = next(kind for kind in DUE_KINDS.values() if kind.confirms_tuition)
#: Of a defect's description, on a key.
_ON_A_KEY = 32


#: A watched defect has half of the ring of "due": nobody knows how long it lasts.
_HALF = 15
_PRESSING = (State.OVERDUE, State.DUE, State.BOOKED)


class CarSentence(NamedTuple):
    """One sentence on a car: the silhouette before it, and the part of the car's page that it is about."""

    words: str
    state: str
    place: str = "due"
    days_left: int | None = None
    notice_days: int = 30


class ReasonWords(NamedTuple):
    """One reason in words; ``address`` is the page about it, empty if the car's page says it all."""

    title: str
    detail: str
    address: str = ""


class Way(NamedTuple):
    """One way back; ``is_first_step`` if it only leads there, such as a booking."""

    words: str
    address: str
    is_first_step: bool = False


def sentences_of(due: CarDue, on: date) -> list[CarSentence]:
    """The verdict on a car that is on the road, and after it whatever else presses, worst first."""
    verdict, mark = due.verdict, show(due.registration)
    found = [_of_line(line, on) for line in due.items if line.status.state in _PRESSING]
    if verdict.verdict is Verdict.NOT_KNOWN:
        found.insert(0, CarSentence(verdict_words(verdict, mark, due.titles, on), "unknown"))
    if watched := due.condition.defects:
        words = verdict_words(CarVerdict(Verdict.DUE, defects=watched), mark, due.titles, on)
        found.append(CarSentence(words, "due", "defects", _HALF))
    return found or [CarSentence(verdict_words(verdict, mark, due.titles, on), "later")]


def _of_line(line: DueLine, on: date) -> CarSentence:
    status = line.status
    words = sentence(line.title, status, on)
    return CarSentence(words, status.state, days_left=status.days_left, notice_days=line.kind.notice_days)


def road_of(due: CarDue, on: date) -> RoadAhead:
    """What falls due on a car in the next twelve weeks; while it is off the road, its road is closed."""
    title = verdict_words(due.verdict, show(due.registration), due.titles, on)
    items = road_items(((line.title, line.status) for line in due.items), on)
    return RoadAhead(title, on, items, due.off_the_road)


def whys_of(due: CarDue) -> list[ReasonWords]:
    """The reasons why a car is off the road, worst first."""
    return [_why(due, reason) for reason in due.reasons]


def ways_back_of(due: CarDue) -> list[Way]:
    """What brings a car back, that for the worst reason first; what only leads there comes last."""
    is_named = sum(reason.defect is not None for reason in due.reasons) > 1
    ways = {way.address: way for reason in due.reasons for way in _ways(due, reason, is_named=is_named)}
    return sorted(ways.values(), key=lambda way: way.is_first_step)


def _why(due: CarDue, reason: OffRoadReason) -> ReasonWords:
    since = day(reason.since) if reason.since else ""
    if reason.defect is not None:
        words = f"{Severity(reason.name).words}, found on {since}{waiting_words(reason.put_right)}"
        return ReasonWords(reason.about, words, reverse("fleet:defect", args=[reason.defect]))
    if reason.name == TREAD:
        tyres = reverse("fleet:tread", args=[due.registration])
        return ReasonWords(
            f"{wheel_words(reason.about)} tyre: less than {LEGAL_LEAST} mm of tread", f"read on {since}", tyres
        )
    if reason.name == NO_TUITION_COVER:
        return ReasonWords("The insurance does not cover driving tuition", f"as found on {since}")
    words = DUE_KINDS[reason.name].words
    booked = f", {still_off_words(reason.name, reason.booked_for)}" if reason.booked_for else ""
    if reason.is_by_rule:
        return ReasonWords(f"No {words} recorded", f"it needs one from {since} on{booked}")
    return ReasonWords(f"{words} ran out", f"on {since}{booked}" if since else "")


def _ways(due: CarDue, reason: OffRoadReason, *, is_named: bool) -> Iterator[Way]:
    """What brings a car back of which this is a reason; ``is_named``: another defect stops it too."""
    if reason.defect is not None:
        about = on_one_line(reason.about, longest=_ON_A_KEY)
        words = f"Put right: {about}" if is_named else "Defect put right: by whom?"
        if reason.put_right:
            seen = f"Who has seen it? {about}" if is_named else "Put right: who has seen it?"
            yield Way(seen, reverse("fleet:defect", args=[reason.defect]))
        else:
            yield Way(words, reverse("fleet:defect-close", args=[reason.defect]))
    elif reason.name == TREAD:
        yield Way("New tyres fitted: at which wheels?", reverse("fleet:tyres-replaced", args=[due.registration]))
    elif reason.name == NO_TUITION_COVER:
        yield Way("Insured for tuition now", _address_of_item(due, _INSURANCE.name, "correct"))
    else:
        yield from _ways_of_item(due, reason)


def _ways_of_item(due: CarDue, reason: OffRoadReason) -> Iterator[Way]:
    name = reason.name
    kind = DUE_KINDS[name]
    done = "passed" if kind.is_mot else "renewed"
    yield Way(f"{kind.words} {done}: until when?", _address_of_item(due, name, "complete"))
    if not kind.is_cover and not reason.booked_for:
        yield Way(f"Book the {kind.words_within}", _address_of_item(due, name, "book"), is_first_step=True)


def _address_of_item(due: CarDue, name: str, step: str) -> str:
    """The page of a step about a due item of the car, or the one that enters it if nothing is recorded."""
    item_id = next((line.item_id for line in due.items if line.kind.name == name), None)
    if item_id is None:
        return f"{reverse('fleet:due-item-add', args=[due.registration])}?kind={name}"
    return reverse(f"fleet:due-item-{step}", args=[item_id])
