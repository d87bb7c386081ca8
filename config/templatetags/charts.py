"""For every template: drawings by ``{% chart %}``, and the swatch of a tone beside its name in a table."""

from django import template
from django.utils.html import format_html

from config.charts import rendering
from config.charts.marks import DENSE, HALF, SHEET, STRIP, WIDE, Drawn
from config.charts.paints import SCHEMES, Scheme
from config.look.tokens import TONES

register = template.Library()

_ON_PAPER = {"paper": WIDE, "sheet": SHEET, "half": HALF, "strip": STRIP, "dense": DENSE}


@register.simple_tag
def chart(drawn: Drawn | None, name: str, sheet: str = "both") -> str:
    """Draw a record of `config.charts`; nothing for None. ``name`` is its own on the page, because ids begin with it.

    ``sheet``: "both" a narrow and a wide one, of which the stylesheet shows one; "narrow" or "wide" that one alone;
    "paper" a wide one for a PDF, which no stylesheet reaches; "sheet" one in the size of its words, "half" one for half
    its width, "strip" a low one, and "dense" a lower one.
    """
    if drawn is None:
        return ""
    if sheet == "both":
        return rendering.both(drawn, name)
    if sheet in _ON_PAPER:
        return rendering.svg(drawn.draw(_ON_PAPER[sheet]), name, "paper")
    return rendering.narrow(drawn, name) if sheet == "narrow" else rendering.svg(drawn.draw(WIDE), name)


@register.filter
def filled(paint: str, scheme: Scheme) -> str:
    """A paint as the inside of a shape: its class, which a stylesheet may know, and its colour where none does."""
    return format_html('class="c-{}" fill="{}"', paint, scheme[paint])


@register.filter
def stroked(paint: str, scheme: Scheme) -> str:
    """A paint as the line of a shape without an inside."""
    return format_html('class="k-{}" fill="none" stroke="{}"', paint, scheme[paint])


@register.filter
def colour(paint: str, scheme: Scheme) -> str:
    """The colour of a paint in a scheme."""
    return scheme[paint]


@register.inclusion_tag("charts/swatch.svg")
def swatch(tone: str, name: str, sheet: str = "screen") -> dict[str, object]:
    """A square in a tone with its pattern. ``name`` begins its id; each name of a page has each tone once."""
    scheme = SCHEMES["paper" if sheet == "paper" else "light"]
    return {"tone": TONES[tone], "id": f"{name}-{tone}", "scheme": scheme}
