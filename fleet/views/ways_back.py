"""Why a car is off the road, and what brings it back, ready for its page."""

from collections.abc import Iterator
from typing import NamedTuple

from django.urls import reverse

from config.showing import day, on_one_line
from fleet.core.defects import Severity
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason, gravity
from fleet.core.tread import LEGAL_LEAST
from fleet.queries import CarDue
from fleet.views.tyre_words import wheel_words

_INSURANCE = next(kind for kind in DUE_KINDS.values() if kind.confirms_tuition)
#: Of a defect's description, on a key.
_ON_A_KEY = 32


class Why(NamedTuple):
    """One reason in words; ``address`` is the page about it, empty if the car's page says it all."""

    title: str
    detail: str
    address: str = ""


class Way(NamedTuple):
    """One way back; ``is_first_step`` if it only leads there, such as a booking."""

    words: str
    address: str
    is_first_step: bool = False


def whys_of(due: CarDue) -> list[Why]:
    """The reasons why a car is off the road, gravest first."""
    return [_why(due, reason) for reason in sorted(due.reasons, key=gravity)]


def ways_back_of(due: CarDue) -> list[Way]:
    """What brings a car back, that for the gravest reason first; what only leads there comes last."""
    reasons = sorted(due.reasons, key=gravity)
    is_named = sum(reason.defect is not None for reason in reasons) > 1
    ways = {way.address: way for reason in reasons for way in _ways(due, reason, is_named=is_named)}
    return sorted(ways.values(), key=lambda way: way.is_first_step)


def _why(due: CarDue, reason: OffRoadReason) -> Why:
    since = day(reason.since) if reason.since else ""
    if reason.defect is not None:
        words = f"{Severity(reason.name).words}, found on {since}"
        return Why(reason.about, words, reverse("fleet:defect", args=[reason.defect]))
    if reason.name == TREAD:
        tyres = reverse("fleet:tread", args=[due.registration])
        return Why(f"{wheel_words(reason.about)} tyre: less than {LEGAL_LEAST} mm of tread", f"read on {since}", tyres)
    if reason.name == NO_TUITION_COVER:
        return Why("The insurance does not cover driving tuition", f"as found on {since}")
    return Why(f"{DUE_KINDS[reason.name].words} ran out", f"on {since}" if since else "")


def _ways(due: CarDue, reason: OffRoadReason, *, is_named: bool) -> Iterator[Way]:
    """What brings a car back of which this is a reason; ``is_named``: another defect stops it too."""
    if reason.defect is not None:
        about = on_one_line(reason.about, longest=_ON_A_KEY)
        words = f"Put right: {about}" if is_named else "Defect put right: by whom?"
        yield Way(words, reverse("fleet:defect-close", args=[reason.defect]))
    elif reason.name == TREAD:
        yield Way("New tyres fitted: at which wheels?", reverse("fleet:tyres-replaced", args=[due.registration]))
    elif reason.name == NO_TUITION_COVER:
        yield Way("Insured for tuition now", _address_of_item(due, _INSURANCE.name, "correct"))
    else:
        yield from _ways_of_item(due, reason.name)


def _ways_of_item(due: CarDue, name: str) -> Iterator[Way]:
    kind = DUE_KINDS[name]
    done = "passed" if kind.is_mot else "renewed"
    yield Way(f"{kind.words} {done}: until when?", _address_of_item(due, name, "complete"))
    if not kind.is_cover:
        yield Way(f"Book the {kind.words_within}", _address_of_item(due, name, "book"), is_first_step=True)


def _address_of_item(due: CarDue, name: str, step: str) -> str:
    """The page of a step about a due item of the car, or the one that enters it if nothing is recorded."""
    item_id = next((line.item_id for line in due.items if line.kind.name == name), None)
    if item_id is None:
        return f"{reverse('fleet:due-item-add', args=[due.registration])}?kind={name}"
    return reverse(f"fleet:due-item-{step}", args=[item_id])
