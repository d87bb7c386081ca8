"""For every template: icons, silhouettes of states, marks of offers, and how a row of the slip is laid out."""

from collections.abc import Iterable
from typing import Any

from django import template
from django.conf import settings
from django.forms import BoundField
from django.shortcuts import resolve_url
from django.templatetags.static import static
from django.utils.html import format_html, format_html_join

from config.look.offers import letter_place, offer_look, offer_shape
from config.look.states import state_shape
from config.look.tokens import SHADES
from config.site import page

register = template.Library()


@register.simple_tag
def icon(name: str) -> str:
    """An icon of the sprite. Screen readers pass over it, so a word must stand beside it."""
    sprite = static("icons/sprite.svg")
    return format_html('<svg class="ic" aria-hidden="true"><use href="{}#{}"></use></svg>', sprite, name)


@register.simple_tag
def back(words: str, to: str, *arguments: object) -> str:
    """The way back, before the page's h1: ``to`` is an address, an address's name, or a slot of `settings.PAGES`."""
    address = page(to) if to in settings.PAGES else resolve_url(to, *arguments)
    link = '<a class="back" href="{}">{}<span class="sr">Back to {}</span></a>'
    return format_html(link, address, icon("back"), words)


@register.inclusion_tag("_state.svg")
def state(name: str, days_left: int | None = None, notice_days: int = 30) -> dict[str, Any]:
    """The silhouette of a state; screen readers pass over it, so its word must stand beside it."""
    return {"shape": state_shape(str(name), days_left, notice_days)}


@register.inclusion_tag("_offer_mark.svg")
def offer_mark(letter: str) -> dict[str, Any]:
    """An offer's letter on its shape, the same on every page; a screen reader says the letter."""
    baseline, size = letter_place(letter)
    return {"look": offer_look(letter), "shape": offer_shape(letter), "baseline": baseline, "size": size}


#: Labels of more characters, words of more characters, and controls that need the whole width, stand above.
_LONG_LABEL, _LONG_WORDS, _WIDE_CONTROLS = 30, 20, frozenset({"textarea", "file", "url"})


@register.filter
def is_long(field: BoundField) -> bool:
    """Whether a field's row of the slip has its label above the control rather than beside it."""
    has_long_words = field.widget_type == "text" and len(str(field.value() or "")) > _LONG_WORDS
    return len(field.label) > _LONG_LABEL or field.widget_type in _WIDE_CONTROLS or has_long_words


@register.filter
def num_cells(figures: Iterable[tuple[str, str]]) -> str:
    """The cells of one row of a table, each a figure and the address that it opens, or "".

    A table of months has a hundred, and a loop over them in a template takes long: they are written at once.
    """
    cells = list(figures)
    pattern = "".join(_LINKED_CELL if to else _CELL for _, to in cells)
    return format_html(pattern, *(part for words, to in cells for part in ((to, words) if to else (words,))))


_CELL, _LINKED_CELL = '<td class="num">{}</td>', '<td class="num"><a href="{}">{}</a></td>'


@register.simple_tag
def theme_colours() -> str:
    """What a phone paints around the page: the paper, light or dark."""
    paper = SHADES["paper"]
    meta = '<meta name="theme-color" content="{}" media="(prefers-color-scheme: {})">'
    return format_html_join("", meta, [(paper.light, "light"), (paper.dark, "dark")])
