"""The shapes that tell one offer from another, ready to draw: in charts, in tables and on paper alike."""

from config.look.tokens import OFFERS, OfferLook

#: Paths on a tile of 24 by 24, filled with the offer's tone; the letter lies in the middle.
OFFER_SHAPES: dict[str, str] = {
    "circle": "M2 12a10 10 0 1 0 20 0 10 10 0 1 0-20 0z",
    "square": "M3 3h18v18H3z",
    "hexagon": "M12 1.5 21.5 7v10L12 22.5 2.5 17V7z",
    "triangle": "M12 .5 24 22.5H0z",
    "diamond": "M12 0 24 12 12 24 0 12z",
    "octagon": "M7.5 2h9L22 7.5v9L16.5 22h-9L2 16.5v-9z",
    "shield": "M3 2h18v11c0 5-4 8-9 10-5-2-9-5-9-10z",
    "arch": "M3 22V11a9 9 0 0 1 18 0v11z",
}

_BY_LETTER = {look.letter: look for look in OFFERS}


def offer_look(letter: str) -> OfferLook:
    """How the offer of this letter looks wherever it is drawn. Raises KeyError if there is no such letter."""
    return _BY_LETTER[letter]
