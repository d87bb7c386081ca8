"""For templates of sheets of paper: shapes drawn for white ground, in the light tones."""

from urllib.parse import quote

from django import template
from django.template.loader import render_to_string
from django.utils.html import format_html

from config.look.offers import offer_look, offer_shape
from config.look.states import state_shape
from config.look.tokens import SHADES, SHEET
from config.templatetags.charts import swatch

register = template.Library()


@register.simple_tag
def silhouette(name: str, days_left: int | None = None, notice_days: int = 30) -> str:
    """The silhouette of a state (``config.look.tokens.STATES``); its word stands beside it."""
    inks = {"ink": SHADES["ink"].light, "ground": SHEET}
    svg = render_to_string("_silhouette.svg", {"shape": state_shape(name, days_left, notice_days), **inks})
    return _box("shape", svg)


@register.simple_tag
def letter(of: str) -> str:
    """An offer's letter on its shape in its tone."""
    look = offer_look(of)
    svg = render_to_string("_offer_shape.svg", {"shape": offer_shape(of), "tone": look.light})
    return _box(f"letter {look.shape}", svg, of)


@register.simple_tag
def tone(of: str) -> str:
    """The swatch of a group of costs, with its pattern; its name stands beside it."""
    svg = render_to_string("charts/swatch.svg", swatch(of, "tone", "paper"))
    return _box("swatch", svg.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1))


def _box(name: str, svg: str, words: str = "") -> str:
    """A box with a drawing as its ground, because WeasyPrint would tag a picture and ask for its words."""
    ground = f"data:image/svg+xml,{quote(svg)}"
    return format_html('<i class="{}" style="background-image: url(\'{}\')">{}</i>', name, ground, words)
