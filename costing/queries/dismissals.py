"""What a member has dismissed of what stood out in their book."""

from typing import NamedTuple

from django.shortcuts import get_object_or_404

from config.sql import rows
from costing.models import Dismissal
from instructors.models import Member


def dismissals_of(member: Member) -> list[Dismissal]:
    """Return all that the member has dismissed, newest first."""
    return list(Dismissal.objects.filter(member=member).select_related("member"))


def dismissal_for(member: Member, pk: int) -> Dismissal:
    """Return one of the member's own. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Dismissal, member=member, pk=pk)


class Kept(NamedTuple):
    """What a member has dismissed, by car id, kind and key, and whether they keep a pot or tell what they take."""

    dismissed: frozenset[tuple[int, str, str]]
    has_pot: bool
    has_takings: bool


#: Asked by home each time, so that what nobody keeps takes no query of its own.
_KEPT = """SELECT 'odd', car_id, kind, key FROM costing_dismissal WHERE member_id = %s
UNION ALL SELECT 'pot', 0, '', '' FROM costing_potplan WHERE member_id = %s
UNION ALL SELECT 'takings', 0, '', ''
WHERE EXISTS (SELECT 1 FROM costing_takings WHERE member_id = %s AND voided_at IS NULL)"""


def kept_by(member: Member) -> Kept:
    """Return what a member keeps besides entries, by one query."""
    kept = rows(_KEPT, *[member.pk] * 3)
    of = {what for what, *_ in kept}
    return Kept(
        frozenset((car_id, kind, key) for what, car_id, kind, key in kept if what == "odd"),
        "pot" in of,
        "takings" in of,
    )
