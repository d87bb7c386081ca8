"""How a change is written down: what it was before, who made it and when stay in the row's history."""

from django.db import models

from instructors.models import Member


def save_as(by: Member | None, instance: models.Model, *fields: str) -> None:
    """Save the row as changed by ``by`` (None: by the book itself); with ``fields``, only those of it."""
    instance._history_user = by  # type: ignore[attr-defined]  # read by the history when the row is saved
    instance.save(update_fields=fields or None)


def delete_as(by: Member, instance: models.Model) -> None:
    """Delete the row as done by ``by``; what it was stays in the history."""
    instance._history_user = by  # type: ignore[attr-defined]  # as above
    instance.delete()
