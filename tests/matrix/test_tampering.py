"""A member's own forms, sent with somebody else's ids, marks and references in every field that takes one."""

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any
from uuid import UUID

import pytest

from tests.matrix.asking import Asker
from tests.matrix.forms import form_on
from tests.matrix.looking import Look
from tests.matrix.roles import COLLEAGUE, COORDINATOR_WITH_CAR
from tests.matrix.rows import Row
from tests.matrix.table import TABLE

#: Names under which a form or a view might take what is whose, besides those that the page's own form has.
SMUGGLED = (
    "member",
    "by",
    "owner",
    "keeper_id",
    "car_id",
    "photo",
    "picture_id",
    "cost",
    "comparison",
    "offer",
    "pk",
    "id",
)

with_form = pytest.mark.parametrize("row", [row for row in TABLE if row.done is not None and row.get == 200], ids=str)


@with_form
@pytest.mark.parametrize("role", [COLLEAGUE, COORDINATOR_WITH_CAR])
def test_somebody_elses_things_in_ones_own_form(asker: Asker, row: Row, role: str) -> None:
    own, theirs = asker.world.records[role], asker.world.now
    if role not in row.who(own):
        pytest.skip("not a form of theirs")
    look = Look(asker, row)
    page = look.ask(role, "GET", own, [200], query=row.form_at)
    form = form_on(page.body, row.address(own)) | row.typed_by(own)
    for tampered in _tampered(form, own, theirs):
        look.ask(role, "POST", own, [200, 302, 303, 404], data=tampered, query=row.form_at)
    assert look.faults == []


def _tampered(form: dict[str, Any], own: SimpleNamespace, theirs: SimpleNamespace) -> Iterator[dict[str, Any]]:
    """The form with each identifier in it exchanged for one of the keeper's, and with all that might be smuggled in."""
    identifiers = list(_identifiers(theirs))
    for name, values in form.items():
        value = values[0] if isinstance(values, list) and values else values
        if _is_reference(value):
            for reference in (theirs.cost_ref, theirs.fill.ref, theirs.teaching.ref, theirs.check.ref):
                yield form | {name: reference}
        elif value == own.car.registration or name in ("car", "registration", "keeper"):
            for identifier in (theirs.car.registration, theirs.car.pk, theirs.member.pk):
                yield form | {name: identifier}
    for identifier in identifiers:
        yield dict.fromkeys(SMUGGLED, identifier) | form


def _identifiers(theirs: SimpleNamespace) -> Iterator[Any]:
    yield theirs.member.pk
    yield theirs.cost_ref
    yield theirs.paper.pk


def _is_reference(value: Any) -> bool:
    try:
        return bool(UUID(str(value)))
    except ValueError:
        return False
