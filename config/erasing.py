"""Taking somebody's name and address out of what others wrote, when all that is theirs is erased."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from operator import or_

from django.conf import settings
from django.db.models import CharField, Model, Q, TextField
from django.utils.module_loading import import_string

#: What stands there instead.
SOMEBODY = "a former member"


def erase_in_apps(member: Model, words: Sequence[str]) -> int:
    """Have every app of ``settings.ERASURE`` delete what is the member's, and take the ``words`` out of what stays.

    Return how many rows went; what is deleted with them counts too. It may run again.
    """
    return sum(import_string(erase_there)(member, words) for erase_there in settings.ERASURE)


def take_out(words: Sequence[str], models: Iterable[type[Model]]) -> None:
    """Put ``SOMEBODY`` in the place of each of these words in all texts of the models' rows, and of their histories.

    Case does not count. A text that becomes too long for its column is cut.
    """
    for model in models if words else ():
        lengths = {field.name: field.max_length for field in model._meta.concrete_fields if _is_told(field)}
        if not lengths:
            continue
        holds = reduce(or_, (Q(**{f"{name}__icontains": one}) for name in lengths for one in words))
        for row in model._base_manager.filter(holds):
            texts = {name: getattr(row, name) for name in lengths}
            cleared = {name: without(text, words)[: lengths[name]] for name, text in texts.items() if text}
            model._base_manager.filter(pk=row.pk).update(**cleared)


def without(text: str, words: Iterable[str]) -> str:
    """The text with ``SOMEBODY`` in the place of each of the words, in capitals or not.

    A word stays where it is part of a longer one, and an address where it is part of a longer address.
    """
    for word in words:
        text = SOMEBODY.join(_around(text, word))
    return text


#: The sign before, and what comes after, that make of a word a part of a longer one.
_OF_LONGER_WORD = re.compile(r"[^\W_]"), re.compile(r"[^\W_]")
#: The same of an address: its last dot may end a sentence.
_OF_LONGER_ADDRESS = re.compile(r"[\w.+-]"), re.compile(r"[\w-]|\.\w")


def _around(text: str, word: str) -> Iterator[str]:
    """The pieces of a text between the places at which the word stands, in capitals or not."""
    before, after = _OF_LONGER_ADDRESS if "@" in word else _OF_LONGER_WORD
    # Few letters change their number with their case; a text that has one is searched as it stands.
    low, sought = text.lower(), word.lower()
    if len(low) != len(text):
        low, sought = text, word
    begun = place = 0
    while (place := low.find(sought, place)) >= 0:
        end = place + len(sought)
        if not (place and before.match(low, place - 1)) and not after.match(low, end):
            yield text[begun:place]
            begun = end
        place = end
    yield text[begun:]


def _is_told(field: object) -> bool:
    """Whether people type into it: no choice, no file, and nothing that has to be the only one of its kind."""
    return isinstance(field, CharField | TextField) and not (field.choices or field.unique)
