"""Undoing what was just saved, from the answer that told of it."""

from uuid import UUID

from django.http import HttpResponse
from django.views.decorators.http import require_POST

from config.form_page import button_pressed
from costing.actions import undo_batch, undo_entry
from costing.queries import batch_for, entry_for
from costing.views.rows import row_of
from instructors.access import MemberRequest, of_its_member


@require_POST
@of_its_member
def entry_undo(request: MemberRequest, kind: str, pk: int) -> HttpResponse:
    """Take one entry back."""
    entry = entry_for(request.user, kind, pk)

    def undo() -> str:
        row = row_of(undo_entry(by=request.user, entry=entry))
        return f"Undone: {row.title}, {row.figure}, {row.detail}. It no longer counts."

    return button_pressed(request, undo, "costing:home")


@require_POST
@of_its_member
def batch_undo(request: MemberRequest, pk: UUID) -> HttpResponse:
    """Take back all that was saved together, and put back what it replaced."""
    batch = batch_for(request.user, pk)

    def undo() -> str:
        undo_batch(by=request.user, batch=batch)
        return f"Undone: {batch.get_kind_display().lower()}. The book is as it was before."

    return button_pressed(request, undo, "costing:home")
