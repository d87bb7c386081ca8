"""Forms that ask: what can hardly be right is asked beside its field, with what may be meant as one key each.

A form says what it doubts (``doubts``), and in which words (``doubt_words``). Beside its fields two more are posted:
``meant``, the value of a meaning's key, which changes fields before they are cleaned, and ``is_right``, the keys of the
doubts that somebody has answered. A doubt that is not answered makes the form not valid.
"""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from copy import copy
from datetime import date
from typing import Any, NamedTuple, Protocol, cast
from urllib.parse import parse_qsl, urlencode

from django import forms
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict

from config import showing
from config.fields import IT_IS_RIGHT, Likely, Link, Question

#: Before a field's name in ``meant``: what stood there when the key was made. If it says something else by now,
#: somebody has typed since, and the key is not meant: Enter in a field presses the first key of its form.
_WAS = "was."
#: So many meanings stand below an error at most.
MOST_MEANT = 3
#: Pence from which "about" rounds to whole pounds.
_SMALL = 10_00
#: Minutes from which hours are easier to read.
_LONG = 180


class Change(Protocol):
    """A field and its value as it is typed."""

    @property
    def field(self) -> str: ...
    @property
    def value(self) -> str: ...


class Meaning(Protocol):
    """What may be meant; ``name`` finds its words if they are not just the new values."""

    @property
    def changes(self) -> Sequence[Change]: ...
    @property
    def name(self) -> str: ...


class Doubt(Protocol):
    """Why a field may be wrong (`fleet.core.plausible.doubt`)."""

    @property
    def field(self) -> str: ...
    @property
    def reason(self) -> str: ...
    @property
    def figures(self) -> Mapping[str, int | str]: ...
    @property
    def rests_on(self) -> Sequence[Change]: ...
    @property
    def meanings(self) -> Sequence[Meaning]: ...
    @property
    def may_be_right(self) -> bool: ...
    @property
    def key(self) -> str: ...


class Refused(NamedTuple):
    """A doubt that says nothing but what may be meant: why the field is refused, its error has said."""

    field: str
    meanings: Sequence[Meaning]
    reason: str = "refused"
    figures: Mapping[str, int | str] = {}  # nobody changes it
    rests_on: Sequence[Change] = ()
    may_be_right: bool = False
    key: str = ""


class KeysField(forms.Field):
    """The keys of the doubts that are answered, several in one value or in several; hidden."""

    widget = forms.MultipleHiddenInput

    def clean(self, value: Any) -> list[str]:
        """The keys."""
        return [key for keys in value or () for key in str(keys).split()]


class AskingForm(forms.Form):
    """A form that asks. ``questions`` are by field, ``found_right`` names the doubts that somebody answered. What is
    in the book already may be left out (``is_left_out``): then nothing is to be saved.

    A page shows ``{{ form.is_right }}`` within the form, so that an answer goes along with the next one. What was
    answered when it was saved (``answered_before``) is not asked again while it says the same.
    """

    #: The words of a doubt by its reason, of a meaning by "=" and its name or the field it changes, of the answer that
    #: it is right by "+" and the reason unless it is just that: see `fill`.
    doubt_words: Mapping[str, str] = {}
    #: The names of fields that are made with the form, so that a meaning may change them too.
    made_fields: Collection[str] = ()
    today: date

    is_right = KeysField(required=False)
    leave_out = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *arguments: Any, **options: Any) -> None:
        self.questions: dict[str, Question] = {}
        self.asked: dict[str, list[Doubt]] = {}
        self.found_right: tuple[str, ...] = ()
        self.is_left_out = False
        self._answered: set[str] = set()
        self._is_trial = False
        super().__init__(_as_meant(data, {*self.base_fields, *self.made_fields}), *arguments, **options)

    def doubts(self) -> Iterable[Doubt]:
        """What may be wrong with ``cleaned_data``, in which there are no errors."""
        return ()

    def answered_before(self) -> Iterable[str]:
        """The keys of what was answered when the record that the form corrects was saved."""
        return ()

    def is_valid(self) -> bool:
        """Whether there are no errors, and no question is left."""
        return super().is_valid() and not self.questions

    def _clean_fields(self) -> None:
        super()._clean_fields()  # type: ignore[misc]  # Django's own hook; ``clean`` sees only what is typed
        self._answered = set(self.cleaned_data.pop("is_right", ()))
        self.is_left_out = self.cleaned_data.pop("leave_out", False)

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]  # Django's own hook, for what comes after cleaning
        if self.errors and not self._is_trial:
            self._put_meant()
        if self.errors or self.is_left_out:
            return
        right: list[str] = []
        self.asked = {}
        doubts = list(self.doubts())
        answered = self._answered.union(self.answered_before()) if doubts else self._answered
        for doubt in doubts:
            if doubt.may_be_right and doubt.key in answered:
                right.append(doubt.reason)
            else:
                self.asked.setdefault(doubt.field, []).append(doubt)
        self.found_right = tuple(dict.fromkeys(right))
        if not self._is_trial:
            self._put_questions()

    def meant_instead(self) -> Iterable[Meaning]:
        """What may be meant by what a field refuses, as far as it can be read as a figure or a day at all."""
        return ()

    def _put_meant(self) -> None:
        """Offer below the first error what may be meant: what the form would take, if possible without a question."""
        name = next((one for one in self.errors if one in self.fields), None)
        apart: dict[frozenset[tuple[str, str]], Meaning] = {}
        for one in self.meant_instead() if name else ():
            apart.setdefault(frozenset((change.field, change.value) for change in one.changes), one)
        trials = [(one, self._with(dict(changes))) for changes, one in apart.items()]
        possible = [(one, trial.asked) for one, trial in trials if not trial.errors]
        meanings = [one for one, asked in possible if not asked][:MOST_MEANT] or [one for one, _ in possible][:1]
        if name and meanings:
            self.asked = {name: [Refused(name, tuple(meanings))]}
            likely = tuple(Likely(self._sent(one), self.words_of_meaning(one)) for one in meanings)
            self.questions[name] = question = Question("", likely, may_be_right=False)
            self.fields[name].question = question  # type: ignore[attr-defined]  # _field_words.html reads it

    def _with(self, changes: Mapping[str, str]) -> "AskingForm":
        """The form as it would be with these values in place of what was sent."""
        trial = copy(self)
        trial._is_trial = True
        trial._bound_fields_cache = {}  # type: ignore[attr-defined]  # Django's own: the fields as the copy has them
        trial.files = MultiValueDict()
        trial.data = sent = cast(QueryDict, self.data).copy()
        for field, value in changes.items():
            sent[self.add_prefix(field)] = value
            if not value:
                del sent[self.add_prefix(field)]
        trial.questions, trial.asked = {}, {}
        trial.full_clean()
        return trial

    def _put_questions(self) -> None:
        for name, doubts in self.asked.items():
            first = next((doubt for doubt in doubts if not doubt.may_be_right), doubts[0])
            question = Question(
                self.words_of(first),
                tuple(Likely(self._sent(one), self.words_of_meaning(one)) for one in first.meanings),
                " ".join(doubt.key for doubt in doubts),
                first.may_be_right,
                link=self.link_of(first),
                right=self.doubt_words.get(f"+{first.reason}", IT_IS_RIGHT),
            )
            self.questions[name] = question
            if field := self.fields.get(name):
                field.question = question  # type: ignore[attr-defined]  # _field_words.html reads it
                said = f"{self[name].id_for_label}_helptext " if field.help_text else ""
                field.widget.attrs["aria-describedby"] = f"{said}{self[name].auto_id}_question"

    def words_of(self, doubt: Doubt) -> str:
        """A doubt as a question."""
        return fill(self.doubt_words[doubt.reason], doubt.figures, self.today)

    def words_of_meaning(self, meaning: Meaning) -> str:
        """What may be meant, as its key says it."""
        values = {change.field: change.value for change in meaning.changes}
        if meaning.name:
            return fill(self.doubt_words[f"={meaning.name}"], values, self.today)
        return ", ".join(fill(self.doubt_words[f"={name}"], values, self.today) for name in values)

    def link_of(self, doubt: Doubt) -> Link | None:
        """The page on which a doubt is answered, if it is one of its own."""
        return None

    def _sent(self, meaning: Meaning) -> str:
        was = {f"{_WAS}{one.field}": self.data.get(self.add_prefix(one.field), "") for one in meaning.changes}
        return urlencode({one.field: one.value for one in meaning.changes} | was)

    def questions_as_data(self) -> dict[str, Any]:
        """The questions by field, for a script that draws them."""
        return {
            name: {
                "key": question.key,
                "why": question.why,
                "may_be_right": question.may_be_right,
                "right": question.right,
                **({"link": question.link._asdict()} if question.link else {}),
                "meanings": [
                    {"changes": {one.field: one.value for one in meant.changes}, "words": self.words_of_meaning(meant)}
                    for meant in next((d for d in self.asked[name] if not d.may_be_right), self.asked[name][0]).meanings
                ],
            }
            for name, question in self.questions.items()
        }


def _as_meant(data: Any, fields: Collection[str]) -> Any:
    """What was sent, with the changes of a meaning's key unless somebody has typed since it was made."""
    meant = data.get("meant") if data else None
    if not meant:
        return data
    try:
        told = dict(parse_qsl(meant, keep_blank_values=True, max_num_fields=20))
    except ValueError:
        return data
    changes = {name: value for name, value in told.items() if name in fields}
    if any(data.get(name, "") != told.get(f"{_WAS}{name}", "") for name in changes):
        return data
    sent = data.copy()
    for name, value in changes.items():
        sent[name] = value
        if not value:
            del sent[name]
    return sent


_PLACE = re.compile(r"\{(\w+)(?::(\w+))?\}")


def fill(template: str, figures: Mapping[str, int | str], today: date) -> str:
    """A template with its figures: ``{miles:whole}``. `static/plausible.js` does the same.

    Kinds: ``whole`` numbers, ``pounds`` of pence, whole ones of what is ``about`` so much, ``sum`` of pounds as typed,
    ``pence`` of tenths of a penny, ``amount`` of thousandths, ``hours`` of minutes, minutes that may be ``long``, hours
    ``taught`` as they are typed, the ``s`` of more than one (``hs``: than an hour), a ``date``, a ``day`` near today, a
    name in ``low`` letters, before it the days that are ``part`` of a year of it; without one, as it is.
    """

    def shown(place: re.Match[str]) -> str:
        return _shown(figures[place[1]], place[2], today)

    words = _PLACE.sub(shown, template)
    return words[:1].upper() + words[1:]


def _shown(figure: int | str, kind: str | None, today: date) -> str:
    if kind == "whole":
        return showing.whole(int(figure))
    if kind == "pounds":
        return showing.pence_as_pounds(int(figure)).removesuffix(".00")
    if kind == "about":
        # Pence would say more than "about" does, but of small sums.
        return _shown(figure, "pounds", today) if int(figure) < _SMALL else f"£{(int(figure) + 50) // 100:,}"
    if kind == "sum":
        pounds, _, pence = str(figure).partition(".")
        return f"£{int(pounds):,}{f'.{pence:0<2}' if pence else ''}"
    if kind == "pence":
        return f"{int(figure) // 10}.{int(figure) % 10}p"
    if kind == "amount":
        return f"{int(figure) / 1000:.3f}".rstrip("0").rstrip(".")
    if kind == "hours":
        return showing.hours(int(figure))
    if kind == "long":
        return f"{figure} minutes" if int(figure) < _LONG else showing.hours_taught(int(figure))
    if kind == "taught":
        hours, clock, minutes = str(figure).partition(":")
        return f"{hours} h {int(minutes)} min" if clock else f"{hours} hour{'' if hours == '1' else 's'}"
    if kind in {"s", "hs"}:
        return "" if int(figure) == (1 if kind == "s" else 60) else "s"
    if kind == "part":
        # A year needs no telling, nor does what covers no days.
        is_told = int(figure) not in {0, 365, 366}
        return f"{showing.whole(int(figure))} day{_shown(figure, 's', today)} of " if is_told else ""
    if kind == "low":
        return showing.within(str(figure))
    if kind == "date":
        return showing.day(date.fromisoformat(str(figure)))
    if kind == "day":
        return showing.near_day(date.fromisoformat(str(figure)), today)
    return str(figure)
