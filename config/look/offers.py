"""The marks of the offers, ready to draw: a letter on its shape, in its tone."""

from typing import NamedTuple

from config.look.tokens import OFFERS, OfferLook

#: Each shape on a tile of 24 by 24, and the baseline and size of the letter on it.
_SHAPES = {
    "circle": ("M1 12a11 11 0 1 0 22 0 11 11 0 1 0-22 0z", "16.7", "14"),
    "square": ("M4.5 1.5h15a3 3 0 0 1 3 3v15a3 3 0 0 1-3 3h-15a3 3 0 0 1-3-3v-15a3 3 0 0 1 3-3z", "16.7", "14"),
    "hexagon": ("M6.3 1.7h11.4L23.7 12l-6 10.3H6.3L.3 12z", "16.7", "14"),
    "triangle": ("M12 .8 23.8 22.5H.2z", "20", "11.5"),
    "diamond": ("M12 .2 23.8 12 12 23.8.2 12z", "16.2", "12.5"),
    "octagon": ("M7.3 1h9.4L23 7.3v9.4L16.7 23H7.3L1 16.7V7.3z", "16.7", "14"),
    "shield": ("M2 1.5h20V11c0 6-4 9.8-10 12C6 20.8 2 17 2 11z", "16", "14"),
    "arch": ("M2 23V11a10 10 0 0 1 20 0v12z", "18.5", "14"),
}
_LOOKS = {look.letter: look for look in OFFERS}


class OfferShape(NamedTuple):
    """What to draw on a tile of 24 by 24: ``path`` filled with the tone, and the letter upon it, its middle at 12.

    ``baseline`` and ``size`` of the letter are in units of the tile.
    """

    look: OfferLook
    path: str
    baseline: str
    size: str


def offer_shape(letter: str) -> OfferShape:
    """The mark of the offer that has a letter. Raises KeyError for a letter that no offer may have."""
    look = _LOOKS[letter]
    return OfferShape(look, *_SHAPES[look.shape])
