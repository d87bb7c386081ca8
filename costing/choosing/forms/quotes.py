"""The text of a quote pasted into an offer's page: what was found in it becomes a question beside each row."""

from collections.abc import Mapping
from typing import Any

from django import forms

from config import budgets
from config.fields import Question
from costing.choosing.document.quote_text import Doubt, Finding, read_quote
from costing.choosing.forms.fields import FigureField

TO_CONFIRM = "Tick that the quote says so, or correct it."


class QuoteField(forms.CharField):
    """The text of a quote, of a bounded length. Nobody keeps it."""

    def __init__(self) -> None:
        super().__init__(
            label="Its words",
            required=False,
            max_length=budgets.QUOTE_CHARACTERS,
            widget=forms.Textarea(attrs={"rows": 6, "autocomplete": "off"}),
            help_text="Copy the figures of the quote or e-mail in here. The book looks for sums, rates, miles and "
            "terms, asks you to confirm each, and doesn’t keep the text. What is included and leaving early aren’t "
            "looked for: tell them below.",
        )


def findings_of(text: str, fields: Mapping[str, forms.Field]) -> dict[str, Finding]:
    """What a text says of the terms that the page asks, by field. A text that is too long says nothing."""
    if len(text) > budgets.QUOTE_CHARACTERS:
        return {}
    return {name: finding for name, finding in read_quote(text).items() if name in fields}


def put_questions(form: forms.Form, findings: Mapping[str, Finding], data: Mapping[str, Any]) -> None:
    """Show beside each row what the quote says of it."""
    for name, finding in findings.items():
        is_as_found = _is_found(form.fields[name], str(form[name].value() or ""), finding)
        words = _words(finding, is_as_found)
        if is_as_found:
            question = Question(words, is_ticked=bool(data.get(f"{name}_is_right")))
            form.fields[name].question = question  # type: ignore[attr-defined]  # _field_words.html reads it
        else:
            form.fields[name].asks = words  # type: ignore[attr-defined]  # _field_words.html reads it


def unconfirmed(form: forms.Form, findings: Mapping[str, Finding], data: Mapping[str, Any]) -> list[str]:
    """The fields that stand as they were found, without a tick."""
    return [
        name
        for name, finding in findings.items()
        if _is_found(form.fields[name], str(data.get(name, "")), finding) and not data.get(f"{name}_is_right")
    ]


def _is_found(field: forms.Field, typed: str, finding: Finding) -> bool:
    """Whether a field says what was found, however it is typed."""
    if not finding.value or not typed:
        return False
    if not isinstance(field, FigureField):
        return typed == finding.value
    try:
        return bool(field.figure.read(typed) == field.figure.read(finding.value))
    except ValueError:
        return False


def _words(finding: Finding, is_as_found: bool) -> str:
    quoted = [f"“{words}”" for words in finding.words[:3]]
    listed = quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
    if finding.doubt is Doubt.MANY:
        return f"The quote says {listed}. Type the one that is meant here."
    if finding.doubt is Doubt.WITHOUT_VAT:
        return f"The quote says {listed}. Type it with VAT."
    if finding.doubt is Doubt.FIRST_RENTAL:
        return f"The quote says {listed}. Type how many rentals there are after the initial one."
    if finding.doubt is Doubt.OTHER_UNIT:
        return f"The quote says {listed}. Type how many payments that makes."
    return f"The quote says {listed}." if is_as_found else f"The quote says {listed}. You have something else here."
