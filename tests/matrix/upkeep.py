"""One member's car: what falls due on it and was done, its condition, and the papers of it."""

from datetime import date, timedelta
from types import SimpleNamespace

from fleet.actions import keep_photo
from fleet.models import Defect, DueItem, Photo, Wheel
from fleet.queries import secret_of
from tests.factories import (
    CompletionFactory,
    ConfirmationFactory,
    DefectFactory,
    DefectStepFactory,
    DueItemFactory,
    TreadReadingFactory,
    WalkaroundCheckFactory,
)
from tests.matrix.maker import Maker
from tests.matrix.roles import LOG


def add_upkeep(its: SimpleNamespace, maker: Maker) -> None:
    """Add to ``its`` records what keeper and coordinators see of the car, and the money behind it that they do not."""
    its.mot = _item(maker, "mot", date(2026, 10, 12))
    its.service = _item(maker, "service", date(2026, 11, 12))
    _item(maker, "insurance", date(2026, 9, 22))
    _item(maker, "vehicle_tax", date(2026, 8, 30))
    its.paper = _photo(maker, "a paper", is_of_defect=False)
    its.completion = CompletionFactory.create(
        due_item=its.service,
        was_due_on=None,
        done_on=maker.before(9),
        note=maker.words_of_car("note of what was done"),
        cost_ref=its.cost_ref,
        photo=its.paper,
        recorded_by=maker.member,
    )
    its.check = WalkaroundCheckFactory.create(
        car=maker.car,
        member=maker.member,
        ref=maker.ref_of_car("reference of a check"),
        checked_on=maker.before(5),
        note=maker.words_of_car("note of a check"),
    )
    its.defect = _defect(maker, "open defect", severity="before_next_lesson", walkaround=its.check)
    its.picture = its.defect.photo = _photo(maker, "a defect", is_of_defect=True)
    its.defect.save()
    its.finding = _defect(maker, "MOT's finding", found_by="mot")
    its.waiting = _defect(maker, "danger that is over", severity="dangerous")
    its.wait = DefectStepFactory.create(
        defect=its.waiting,
        state="waiting",
        words=maker.words_of_car("how a danger ended"),
        done_by=maker.words_of_car("who ended a danger"),
        by=maker.member,
    )
    Defect.objects.filter(pk=its.waiting.pk).update(state="waiting")
    its.put_right_token = secret_of(its.wait)
    its.mended = _defect(maker, "closed defect", state="closed", closed_on=maker.before(2))
    words = maker.words_of_car("how it was mended")
    DefectStepFactory.create(
        defect=its.mended, state="closed", happened_on=its.mended.closed_on, words=words, cost_ref=its.cost_ref
    )
    ConfirmationFactory.create(car=maker.car, confirmed_on=maker.before(7), by=maker.member)
    for wheel in Wheel:
        TreadReadingFactory.create(car=maker.car, wheel=wheel, read_on=maker.before(6), by=maker.member)


def _item(maker: Maker, kind: str, due_on: date) -> DueItem:
    """What falls due on the car: the same item, whoever keeps it."""
    if item := DueItem.objects.filter(car=maker.car, kind=kind).first():
        return item
    # No two cars have theirs on one day, nor on one on which what is paid again and again falls.
    own_day = due_on + timedelta(days=maker.miles // 10_000)
    return DueItemFactory.create(
        car=maker.car,
        kind=kind,
        due_on=maker.day_of_car(f"{kind}, day", own_day),
        note=maker.words_of_car(f"what is due, {kind}, note"),
    )


def _defect(maker: Maker, what: str, **fields: object) -> Defect:
    return DefectFactory.create(
        car=maker.car,
        reported_by=maker.member,
        ref=maker.ref_of_car(f"reference of {what}"),
        description=maker.words_of_car(what),
        found_on=maker.before(5),
        **fields,
    )


def _photo(maker: Maker, what: str, *, is_of_defect: bool) -> Photo:
    """A picture that is only words, so that they can be found in it again."""
    words = maker.words_of_car(f"photo of {what}") if is_of_defect else maker.words(f"photo of {what}")
    photo = keep_photo(by=maker.member, car=maker.car, picture=words.encode(), is_of_defect=is_of_defect)
    assert photo is not None
    open_to = maker.lookers if is_of_defect else {maker.role}
    maker.canaries.secret(maker.name(f"id of the photo of {what}"), str(photo.pk), LOG, *open_to)
    return photo
