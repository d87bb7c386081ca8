"""Drawings as SVG: on a page one for a narrow and one for a wide place, of which the stylesheet shows one."""

from functools import lru_cache
from typing import NamedTuple

from django.template.loader import render_to_string
from django.utils.html import format_html

from config.charts.marks import NARROW, WIDE, Drawing, Drawn, Link
from config.charts.paints import SCHEMES
from config.look.tokens import CHART_TYPE, FACES, TONES, Tone


class Pattern(NamedTuple):
    """The marks of a tone's pattern under an id of its own on the page."""

    id: str
    tone: Tone


#: A member's picture of closed months is the same for weeks, and rendering is most of the work of a page that has one.
_KEPT = 256


@lru_cache(maxsize=_KEPT)
def svg(drawing: Drawing, name: str, scheme: str = "light") -> str:
    """The drawing in the colours of a scheme. ``name`` begins its ids, and is its own on the page.

    It depends on nothing else, so a drawing that was rendered lately is not rendered again.
    """
    patterns = [Pattern(f"{name}-{tone}", TONES[tone]) for tone in drawing.tones if TONES[tone].marks]
    links = () if scheme == "paper" else drawing.links
    context = {
        "drawing": drawing,
        "marks": [(type(mark).__name__, mark) for mark in drawing.marks if not isinstance(mark, Link)],
        "links": links,
        "name": name,
        "scheme": SCHEMES[scheme],
        "patterns": patterns,
        "patterned": {pattern.tone.name for pattern in patterns},
        "face": FACES["hand"],
        "book": FACES["book"],
        "size": CHART_TYPE,
    }
    return render_to_string("charts/drawing.svg", context)


def both(drawn: Drawn, name: str) -> str:
    """The drawing twice, for a narrow and for a wide place."""
    narrow, wide = svg(drawn.draw(NARROW), f"{name}-n"), svg(drawn.draw(WIDE), f"{name}-w")
    return format_html('<div class="only-narrow">{}</div><div class="only-wide">{}</div>', narrow, wide)
