"""Taking somebody's name and address out of what others wrote, when all that is theirs is erased."""

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from operator import or_

from django.db.models import CharField, Model, Q, TextField

#: What stands there instead.
SOMEBODY = "a former member"


def take_out(words: Sequence[str], models: Iterable[type[Model]]) -> None:
    """Put ``SOMEBODY`` in the place of each of these words in all texts of the models' rows, and of their histories.

    Case does not count. A text that becomes too long for its column is cut.
    """
    for model in models:
        lengths = {field.name: field.max_length for field in model._meta.concrete_fields if _is_told(field)}
        if not lengths:
            continue
        holds = reduce(or_, (Q(**{f"{name}__icontains": one}) for name in lengths for one in words))
        for row in model._base_manager.filter(holds):
            texts = {name: getattr(row, name) for name in lengths}
            cleared = {name: without(text, words)[: lengths[name]] for name, text in texts.items() if text}
            model._base_manager.filter(pk=row.pk).update(**cleared)


def without(text: str, words: Iterable[str]) -> str:
    """The text with ``SOMEBODY`` in the place of each of the words, where it is no part of a longer one."""
    for word in words:
        text = SOMEBODY.join(_around(text, word))
    return text


def _around(text: str, word: str) -> Iterator[str]:
    """The pieces of a text between the places at which the word stands, in capitals or not."""
    # Few letters change their number with their case; a text that has one is searched as it stands.
    low, sought = text.lower(), word.lower()
    if len(low) != len(text):
        low, sought = text, word
    begun = place = 0
    while (place := low.find(sought, place)) >= 0:
        end = place + len(sought)
        if not (low[place - 1 : place].isalnum() or low[end : end + 1].isalnum()):
            yield text[begun:place]
            begun = end
        place = end
    yield text[begun:]


def _is_told(field: object) -> bool:
    """Whether people type into it: no choice, no file, and nothing that has to be the only one of its kind."""
    return isinstance(field, CharField | TextField) and not (field.choices or field.unique)
