"""Taking somebody's name and address out of what others wrote, when all that is theirs is erased."""

import re
from collections.abc import Iterable, Sequence
from functools import reduce
from operator import or_

from django.db.models import CharField, Model, Q, TextField

#: What stands there instead.
SOMEBODY = "a former member"


def take_out(words: Sequence[str], models: Iterable[type[Model]]) -> None:
    """Put ``SOMEBODY`` in the place of each of these words in all texts of the models' rows, and of their histories.

    Case does not count. A text that becomes too long for its column is cut.
    """
    found = re.compile("|".join(rf"(?<!\w){re.escape(one)}(?!\w)" for one in words), re.IGNORECASE)
    for model in models:
        lengths = {field.name: field.max_length for field in model._meta.concrete_fields if _is_told(field)}
        if not lengths:
            continue
        holds = reduce(or_, (Q(**{f"{name}__icontains": one}) for name in lengths for one in words))
        for row in model._base_manager.filter(holds):
            texts = {name: getattr(row, name) for name in lengths}
            cleared = {name: found.sub(SOMEBODY, text)[: lengths[name]] for name, text in texts.items() if text}
            model._base_manager.filter(pk=row.pk).update(**cleared)


def _is_told(field: object) -> bool:
    """Whether people type into it: no choice, no file, and nothing that has to be the only one of its kind."""
    return isinstance(field, CharField | TextField) and not (field.choices or field.unique)
