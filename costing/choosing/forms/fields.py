"""The fields that ask for the keys of an offers document. What they clean to is what a case is made of.

A key of one figure, word or day has one field, named like it. The module `several` has those that take several.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms

from config import budgets
from config.fields import DayField, QuantityField, on_one_line, unmarked
from costing.choosing.document.figures import Count, Figure, likely
from costing.choosing.document.keys import Key
from costing.choosing.document.shapes import LONGEST_NAME, Day, Flag, Name, OneOf, Parts
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import FUEL, RUNNING_PARTS

ALL_BUT_FUEL = "all_but_fuel"
_YES_OR_NO = {True: "yes", False: "no"}


class FigureField(QuantityField):
    """A figure, typed with a number pad; ``figure`` reads it into its typed value and shows it again."""

    def __init__(self, figure: Figure, *, example: str = "", **options: Any) -> None:
        if example:
            figure = replace(figure, quantity=figure.quantity.within(example=example))
        self.figure, self.sign, self.unit = figure, figure.sign, figure.unit
        keys = {"inputmode": "numeric" if isinstance(figure, Count) else "decimal", "autocomplete": "off"}
        widget = forms.TextInput(attrs=keys)
        super().__init__(figure.read, max_length=budgets.NUMBER_CHARACTERS, widget=widget, **options)

    def prepare_value(self, value: Any) -> Any:
        """What the box shows: of a range, the likely figure; what was typed as it was typed."""
        return value if value is None or isinstance(value, str) else self.figure.show(likely(value))


class NameField(forms.CharField):
    """A name on one line."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=LONGEST_NAME, validators=[on_one_line], **options)


class WordField(forms.ChoiceField):
    """One of a few words, or None where it may be left open."""

    def __init__(self, choices: Mapping[str, str], *, left_open: str = "", **options: Any) -> None:
        every = [("", left_open)] if left_open else []
        options = {"widget": forms.RadioSelect, "required": not left_open, **options}
        options.setdefault("error_messages", {"required": "Choose one."})
        super().__init__(choices=[*every, *choices.items()], **options)

    def clean(self, value: Any) -> str | None:
        """The word. Raises ValidationError for any other."""
        return super().clean(value) or None


class YesNoField(WordField):
    """Yes, no, or None if it is left open."""

    def __init__(self, *, left_open: str, **options: Any) -> None:
        super().__init__({"yes": "Yes", "no": "No"}, left_open=left_open, **options)

    def clean(self, value: Any) -> Any:
        """The answer. Raises ValidationError for any other."""
        chosen = super().clean(value)
        return None if chosen is None else chosen == "yes"

    def prepare_value(self, value: Any) -> Any:
        """The choice that stands for an answer."""
        return _YES_OR_NO[value] if isinstance(value, bool) else value


class TickField(forms.BooleanField):
    """A box that is ticked for yes; without a tick it is None, because nothing was told."""

    def clean(self, value: Any) -> bool | None:
        """True, or None."""
        return super().clean(value) or None


class PartsField(forms.MultipleChoiceField):
    """The running costs that the payments cover. ``at_once`` adds one choice for all of them except fuel."""

    def __init__(self, *, at_once: bool, **options: Any) -> None:
        first = [(ALL_BUT_FUEL, "All of these except fuel")] if at_once else []
        choices = [*first, *((part.name, part.as_included) for part in RUNNING_PARTS.values())]
        super().__init__(choices=choices, widget=forms.CheckboxSelectMultiple, **options)

    def clean(self, value: Any) -> frozenset[str] | None:
        """Their names; None if there are none. Raises ValidationError for any other."""
        chosen = set(super().clean(value))
        if ALL_BUT_FUEL in chosen:
            chosen = (chosen - {ALL_BUT_FUEL}) | {name for name, part in RUNNING_PARTS.items() if part is not FUEL}
        return frozenset(chosen) or None

    def prepare_value(self, value: Any) -> Any:
        """The boxes to tick."""
        return sorted(value) if isinstance(value, frozenset) else value


def field_of(key: Key, *, kind: str = "", **options: Any) -> forms.Field:
    """The field of a key that takes one; for an offer of this ``kind`` it is required where the kind needs it.

    ``options`` are those of a Django field and replace what the key's row says.
    """
    way = AGREEMENT_KINDS.get(kind)
    needed = key.required or (way is not None and key.name in way.needed_when_offered)
    words = way.deposit_words.capitalize() if way and key.name == "deposit" else key.words
    options = {"label": words, "help_text": key.hint, "required": needed, **options}
    field = _made(key, bool(way and way.is_hire), options)
    return field if needed or not field.help_text else unmarked(field)


def _made(key: Key, is_hire: bool, options: dict[str, Any]) -> forms.Field:
    match key.shape:
        case Figure() as figure:
            return FigureField(figure, example=key.example, **options)
        case Day():
            return DayField(may_be_ahead=True, **options)
        case OneOf(choices=choices):
            return WordField(choices, left_open=key.left_open, **options | {"required": not key.left_open})
        case Flag() if key.left_open:
            return YesNoField(left_open=key.left_open, **options)
        case Flag():
            return TickField(**options | {"required": False})
        case Parts():
            return PartsField(at_once=is_hire, **options)
        case Name():
            return NameField(**options)
    raise TypeError(f"{key.name} takes several fields")
