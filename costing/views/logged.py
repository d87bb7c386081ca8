"""What is said once something is logged: what it was, how it is undone, and what may be to do next."""

from django.urls import reverse
from django.utils import timezone

from config.form_page import Done
from config.showing import day, hours_taught, pounds, span_of, whole
from costing.actions.cover import cover_bought
from costing.core.week import DAYS, monday_of
from costing.models import Batch, CostEntry, Entry, TeachingRecord
from costing.queries.repeats import due_of, made_for, settled_by
from costing.queries.weeks import taught_in
from costing.views.rows import lessons_of, row_of
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.registration import show
from fleet.queries import open_item_of

#: By cost category, the kind of due item that a cost was most likely paid for.
_WORK_BY = {kind.cost_category: kind for kind in DUE_KINDS.values() if kind.after_cost}
_ALREADY = "Already logged, nothing was added"
#: What is said of what a member left out, because it is in the book already.
LEFT_OUT = Done(is_new=False, told="Left out: nothing was added.")


def done_of(logged: Entry | Batch, *, is_new: bool) -> Done:
    """Return what was logged, how it is undone, and where it is corrected or, for work, recorded as done."""
    what = "Logged" if is_new else _ALREADY
    if isinstance(logged, Batch):
        return _done_of_week(logged, what, is_new=is_new)
    row = row_of(logged)
    told = f"{what}: {row.title}, {row.figure}, {row.detail}.{_in_place(logged)}{_cover_to_come(logged)}"
    links = [("Correct it", reverse("costing:entry-correct", args=[row.kind, row.pk]))]
    if work := _work_done(logged):
        question, address = work
        told, links = f"{told} {question}", [("Record it as done", address), *links]
    undo = "" if row.is_voided else reverse("costing:entry-undo", args=[row.kind, row.pk])
    return Done(is_new, told, undo, links)


def _done_of_week(week: Batch, what: str, *, is_new: bool) -> Done:
    records, replaced = taught_in(week)
    lessons, minutes = sum(one.lesson_count or 0 for one in records), sum(one.minutes or 0 for one in records)
    taught = f"{lessons_of(lessons)}, {hours_taught(minutes)}" if lessons else "no lessons"
    if is_new and _same_lessons(records, replaced):
        taught = f"{whole(sum(one.private_miles or 0 for one in records))} private miles"
    days, mark = span_of(records[0].from_on, records[-1].to_on), show(records[0].car.registration)
    undo = "" if week.undone_at else reverse("costing:batch-undo", args=[week.pk])
    links = [("See them", f"{reverse('costing:entries')}?kind=lessons")]
    monday = monday_of(records[-1].to_on)
    if lessons and (timezone.localdate() - monday).days >= DAYS - 1:
        links.append(("Its takings", f"{reverse('costing:takings')}?week={monday.isoformat()}"))
    return Done(is_new, f"{what}: {taught}, {days}, {mark}.", undo, links)


def _same_lessons(records: list[TeachingRecord], before: list[TeachingRecord]) -> bool:
    """Whether records took the place of others with the same lessons: then only their private miles are new."""
    lessons, minutes = (
        [sum(getattr(one, name) or 0 for one in each) for each in (records, before)]
        for name in ("lesson_count", "minutes")
    )
    return bool(before) and lessons[0] == lessons[1] and minutes[0] == minutes[1]


def _in_place(entry: Entry) -> str:
    """Say which payment of a repeat an entry stands for; nothing if for none."""
    settles = settled_by(entry) if isinstance(entry, CostEntry) else None
    if settles is None:
        return ""
    if made := made_for(settles.repeat, due_of(settles)):
        return f" It stands in place of the {pounds(made.amount)} that the book had entered for {day(settles.due_on)}."
    return f" It stands for the payment of {day(settles.due_on)}, which the book will not enter."


def _cover_to_come(entry: Entry) -> str:
    """Warn of days without cover before what was bought begins; return nothing if there is no gap."""
    cover = cover_bought(entry)
    if cover is None or cover.since <= timezone.localdate():
        return ""
    item = open_item_of(entry.car, cover.kind)
    if item is not None and item.due_on is not None and item.due_on >= cover.until:
        return ""
    return (
        f" It begins on {day(cover.since)}, and the book has no cover for the days before that: "
        "record the renewal on the car's page once it has begun."
    )


def _work_done(entry: Entry) -> tuple[str, str] | None:
    """Return what to ask after a cost for work that may be due, and the address where it is recorded as done.

    Cover needs no question: its cost has already moved the due item.
    """
    if not isinstance(entry, CostEntry) or entry.amount <= 0 or entry.category not in _WORK_BY:
        return None
    kind = _WORK_BY[entry.category]
    if item := open_item_of(entry.car, kind.name):
        return kind.after_cost, f"{reverse('fleet:due-item-complete', args=[item.pk])}?cost={entry.ref}"
    return kind.after_cost, f"{reverse('fleet:due-item-add', args=[entry.car.registration])}?kind={kind.name}"
