"""What a member has dismissed of what stood out in their book."""

from django.shortcuts import get_object_or_404

from costing.models import Dismissal
from instructors.models import Member


def dismissals_of(member: Member) -> list[Dismissal]:
    """Return all that the member has dismissed, newest first."""
    return list(Dismissal.objects.filter(member=member).select_related("member"))


def dismissal_for(member: Member, pk: int) -> Dismissal:
    """Return one of the member's own. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Dismissal, member=member, pk=pk)
