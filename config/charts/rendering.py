"""Drawings as SVG: on a page one for a narrow and one for a wide place, of which the stylesheet shows one."""

from functools import lru_cache
from typing import NamedTuple

from django.template.loader import render_to_string
from django.utils.html import format_html

from config.charts.marks import NARROW, WIDE, Drawing, Drawn, Link, Words
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


def narrow(drawn: Drawn, name: str, beside: str = "") -> str:
    """The drawing for a narrow place, in a group that scrolls once a reader's own letters make its words too wide.

    ``beside`` is a second class of that group, which is no landmark: a heading beside it may say the same. What has no
    words is drawn as it is.
    """
    drawing = drawn.draw(NARROW)
    if not beside and not any(isinstance(mark, Words) for mark in drawing.marks):
        return svg(drawing, name)
    return format_html(
        '<div class="{}drawn" tabindex="0" role="group" aria-label="{}">{}</div>',
        f"{beside} " if beside else "",
        drawing.title,
        svg(drawing, name),
    )


def both(drawn: Drawn, name: str) -> str:
    """The drawing twice, for a narrow and for a wide place."""
    wide = svg(drawn.draw(WIDE), f"{name}-w")
    return format_html('{}<div class="only-wide">{}</div>', narrow(drawn, f"{name}-n", "only-narrow"), wide)
