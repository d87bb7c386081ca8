"""What a form says at one of its fields: its errors, or the question it asks."""

from typing import Any


def said_at(form: Any, field: str) -> list[str]:
    """The errors of a field, else why it is asked about, else nothing."""
    question = form.questions.get(field)
    return list(form.errors.get(field, ())) or ([question.why] if question else [])
