"""What a member's own download holds beside the archive: what no archive file has, and words that say what is in it.

A book that loads the download passes these over.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Model
from django.template.loader import render_to_string
from django.utils import timezone

from config.whole_files import kept_files
from costing.archive.packing import Content
from costing.archive.sources import BESIDE, README
from costing.models import ChargePlan, Comparison, Dismissal, Payee, PotBill, PotPlan
from fleet.core.registration import show
from fleet.models import Car, Notice, Photo
from fleet.queries import feeds_in_use, notices_to, photos_taken_by
from instructors.models import Member
from instructors.queries import record_of, sessions_of
from instructors.wording import acts_in_words

#: What is the book's own, or the same in every row.
_LEFT_OUT = frozenset({"id", "member", "comparison"})
_OF_MEMBER = (
    "name",
    "email",
    "grade",
    "role",
    "joined_on",
    "left_on",
    "reminder_hour",
    "wants_due_mail",
    "wants_log_mail",
)


def beside(member: Member) -> dict[str, Content]:
    """Return, by their names, what the book holds of the member that is in no file of the archive, and a README."""
    tables = dict(_tables(member))
    named = {str(photo.image.name): photo for photo in photos_taken_by(member)}
    photos = kept_files(named)
    tables["photos"] = [_about(named[name]) for name in photos]
    readme = render_to_string("costing/export_readme.txt", {"member": member, "today": timezone.localdate()})
    return {
        README: readme.encode(),
        **{f"{BESIDE}/{name}.json": _as_json(rows) for name, rows in tables.items()},
        **{f"{BESIDE}/photos/{named[name].pk}.jpg": file for name, file in photos.items()},
    }


def _tables(member: Member) -> Iterator[tuple[str, Any]]:
    yield "profile", {name: getattr(member, name) for name in _OF_MEMBER}
    yield (
        "sign_ins",
        [
            {"since": one.created_at, "last_seen": one.last_seen_at, "address": one.ip, "program": one.user_agent}
            for one in sessions_of(member)
        ],
    )
    yield (
        "calendars",
        [{"of": one.get_scope_display(), "since": one.created_at} for one in feeds_in_use(member).values()],
    )
    yield (
        "record",
        [
            {"at": row.act.happened_at, "by": row.who, "what": row.title, "was": row.was, "now": row.now}
            for row in acts_in_words(record_of(member), member.pk)
        ],
    )
    yield "notices", [_told(notice) for notice in notices_to(member)]
    comparisons = Comparison.objects.filter(member=member).prefetch_related("offers")
    yield "comparisons", [{**_row(one), "offers": _rows(one.offers.all())} for one in comparisons]
    yield "charge", _rows(ChargePlan.objects.filter(member=member))
    yield "pot", _rows(PotPlan.objects.filter(member=member))
    yield "pot_bills", _rows(PotBill.objects.filter(member=member))
    yield "dismissals", _rows(Dismissal.objects.filter(member=member))
    yield "payees", _rows(Payee.objects.filter(member=member))


def _rows(rows: Iterable[Model]) -> list[dict[str, Any]]:
    return [_row(row) for row in rows]


def _row(row: Model) -> dict[str, Any]:
    """A row as plain values by field; a car by its mark."""
    fields = [field for field in row._meta.concrete_fields if field.name not in _LEFT_OUT]
    return {field.name: _plain(getattr(row, field.name)) for field in fields}


def _plain(value: Any) -> Any:
    if isinstance(value, Car):
        return show(value.registration)
    return value.pk if isinstance(value, Model) else value


def _told(notice: Notice) -> Mapping[str, Any]:
    about = show(notice.car.registration) if notice.car else "you"
    day, kind = notice.mail.day, notice.kind
    return {"day": day, "about": about, "kind": kind, "occurrence": notice.occurrence, "step": notice.step}


def _about(photo: Photo) -> Mapping[str, Any]:
    of = "defect" if photo.is_of_defect else "paper"
    return {"file": f"photos/{photo.pk}.jpg", "car": show(photo.car.registration), "of": of, "at": photo.created_at}


def _as_json(value: Any) -> bytes:
    return (json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1) + "\n").encode()
