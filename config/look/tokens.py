"""The look's tokens: tones, patterns, states, offers' letters, type and space. Nothing else spells a colour.

A ground is what something lies on, an ink what is drawn on it. `PAIRS` says which meet, and how far apart they must be;
tests/config/test_look.py holds them to it, and the tones of a stack apart in greyscale.
"""

from typing import NamedTuple


class Shade(NamedTuple):
    """One colour by its name, on a light screen (and on paper) and on a dark one."""

    name: str
    light: str
    dark: str


#: The colours that pages are made of. A stylesheet knows each as ``--name``.
SHADES: dict[str, Shade] = {
    shade.name: shade
    for shade in (
        Shade("paper", "#f6f1e7", "#16121a"),
        Shade("card", "#fffdf8", "#221c27"),
        Shade("ink", "#1d1719", "#f5eee5"),
        Shade("quiet", "#5b4f53", "#c0b4bb"),
        Shade("hair", "#ddd2c5", "#3d3443"),
        Shade("edge", "#85777a", "#948698"),
        Shade("accent", "#5d1747", "#dfa9c9"),
        Shade("press", "#43102f", "#f0cfe2"),
        Shade("fill", "#5d1747", "#7c3363"),
        Shade("onaccent", "#fffdf8", "#fff6fb"),
        Shade("tint", "#f2e3eb", "#3b2438"),
        Shade("band", "#d8c4d0", "#5e4257"),
        Shade("grid", "#e3d9cd", "#372f3d"),
        Shade("frame", "#2c2529", "#948698"),
        Shade("gate", "#c3b3ba", "#63546a"),
        Shade("road", "#2c2529", "#4a4150"),
        Shade("paint", "#f6f1e7", "#f5eee5"),
        Shade("signal", "#ffe3a3", "#4b3810"),
        Shade("signaledge", "#8a5a00", "#f2c25a"),
        Shade("stop", "#1d1719", "#f5eee5"),
        Shade("onstop", "#fffdf8", "#16121a"),
    )
}


#: A sheet where nothing is printed on it.
SHEET = "#ffffff"


class Tone(NamedTuple):
    """What one group of costs is drawn in: a colour, and the ``marks`` of its pattern on an 8 by 8 tile.

    ``marks`` is a path that is stroked ``width`` wide; an empty one leaves the tone plain.
    """

    name: str
    light: str
    dark: str
    pattern: str
    marks: str = ""
    width: float = 0


#: From the axis up. A group of costs keeps its tone and pattern for ever, whatever it comes to.
TONES: dict[str, Tone] = {
    tone.name: tone
    for tone in (
        Tone("value", "#1f458f", "#5d87d7", "plain"),
        Tone("fuel", "#0d886d", "#74debf", "lane dashes", "M4 1v4", 1.7),
        Tone("finance", "#9f2612", "#ef715a", "hatching, rising", "M-2 10 10-2M-2 2 2-2M6 10l4-4", 1.5),
        Tone("insurance", "#8d6408", "#e9af40", "crossing bars", "M0 4h8", 2),
        Tone("service", "#193800", "#49782a", "box junction", "M0 0 8 8M8 0 0 8", 1),
        Tone("rest", "#ab72a6", "#ffd2f9", "studs", "M1.3 2.5h2.4M5.3 6.5h2.4", 2.4),
        Tone("tyres", "#443b36", "#827872", "tread", "M0 6 4 2l4 4", 1.4),
        Tone("tax", "#08668e", "#4db1e6", "hatching, falling", "M-2-2 10 10M6-2l4 4M-2 6l4 4", 2.2),
    )
}


class OfferLook(NamedTuple):
    """How one offer is told from the others: by letter, shape, tone and stroke, whoever is the cheapest."""

    letter: str
    shape: str
    light: str
    dark: str
    dashes: str


_INK_LIGHT, _INK_DARK = SHADES["ink"].light, SHADES["ink"].dark
#: In the order in which offers were added. From the fourth on they share the ink: letter, shape and stroke tell them.
OFFERS: tuple[OfferLook, ...] = (
    OfferLook("A", "circle", "#5d1747", "#dfa9c9", "none"),
    OfferLook("B", "square", "#0b6058", "#6fd6c4", "9 5"),
    OfferLook("C", "hexagon", "#9a5a00", "#f2b45a", "1 5"),
    OfferLook("D", "triangle", _INK_LIGHT, _INK_DARK, "11 4 2 4"),
    OfferLook("E", "diamond", _INK_LIGHT, _INK_DARK, "5 4"),
    OfferLook("F", "octagon", _INK_LIGHT, _INK_DARK, "14 4"),
    OfferLook("G", "shield", _INK_LIGHT, _INK_DARK, "3 3"),
    OfferLook("H", "arch", _INK_LIGHT, _INK_DARK, "9 3 2 3 2 3"),
)


class Pair(NamedTuple):
    """An ink and the ground under it: how far apart they must be, as WCAG 2.2 measures contrast, 1 to 21."""

    ink: str
    ground: str
    least: float


#: WCAG 2.2: 4.5 for text (1.4.3), 3 for what tells a control or a drawing (1.4.11).
TEXT, GRAPHIC = 4.5, 3.0
PAIRS: tuple[Pair, ...] = (
    *(Pair("ink", ground, TEXT) for ground in ("paper", "card", "tint", "signal", "band")),
    *(Pair("quiet", ground, TEXT) for ground in ("paper", "card", "tint")),
    *(Pair("accent", ground, TEXT) for ground in ("paper", "card", "tint")),
    *(Pair("press", ground, TEXT) for ground in ("paper", "card")),
    *(Pair("onaccent", ground, TEXT) for ground in ("fill",)),
    Pair("onstop", "stop", TEXT),
    Pair("paint", "road", TEXT),
    *(Pair("frame", ground, GRAPHIC) for ground in ("paper", "card", "tint")),
    *(Pair("edge", ground, GRAPHIC) for ground in ("paper", "card")),
    *(Pair("accent", ground, GRAPHIC) for ground in ("signal",)),
    *(Pair("signaledge", ground, GRAPHIC) for ground in ("signal", "card")),
    Pair("stop", "paper", GRAPHIC),
)

#: Sizes of type in rem. Charts are drawn in units of a phone's pixel, and their words are `CHART_TYPE` of them.
TYPE = {"small": 0.875, "text": 1, "lead": 1.125, "head": 1.375, "verdict": 1.625, "typed": 1.75, "figure": 2.5}
CHART_TYPE = 13
#: Space in rem: --s1 to --s7.
SPACE = (0.25, 0.5, 0.75, 1, 1.5, 2, 3)
#: Targets in rem: the least, the rule, a key, a knob.
TARGETS = {"tap": 3, "key": 3.25, "knob": 3.5}
#: The two faces with what stands in for each. "book": verdict, heads, figures. "hand": all else.
FACES = {
    "book": '"Besley", "Rockwell", "Georgia", serif',
    "hand": '"Atkinson Hyperlegible Next", system-ui, "Segoe UI", "DejaVu Sans", sans-serif',
}


class StateLook(NamedTuple):
    """The silhouette of a state: ``shape`` is a path on 24 by 24, filled or drawn as an outline; ``sign`` lies on it.

    The ring of "due" fills as its notice time runs: its sector is worked out, so it has no path here.
    """

    name: str
    shape: str
    is_filled: bool = False
    sign: str = ""
    dashes: str = ""


STATES: dict[str, StateLook] = {
    state.name: state
    for state in (
        StateLook("off", "M8 2h8l6 6v8l-6 6H8l-6-6V8z", is_filled=True, sign="M6.5 12h11"),
        StateLook("overdue", "M2 3.5h20L12 22z", is_filled=True, sign="M12 7.5v5"),
        StateLook(
            "unknown",
            "M12 1.8 22.2 12 12 22.2 1.8 12z",
            sign="M9.6 9.8c0-3 4.8-2.9 4.8 0 0 1.8-2.4 1.9-2.4 3.6M12 16.4v.1",
            dashes="4 3.2",
        ),
        StateLook("due", "M3 12a9 9 0 1 0 18 0 9 9 0 1 0-18 0z"),
        StateLook(
            "booked",
            "M6 4h12a3 3 0 0 1 3 3v11a3 3 0 0 1-3 3H6a3 3 0 0 1-3-3V7a3 3 0 0 1 3-3z",
            sign="M3.5 8h17M10 15h4",
        ),
        StateLook("later", "M4.5 12a7.5 7.5 0 1 0 15 0 7.5 7.5 0 1 0-15 0z"),
    )
}
