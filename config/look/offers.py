"""The shapes of the offers: each keeps letter, shape, tone and stroke, on every page, file and sheet."""

from config.look.tokens import OFFERS, OfferLook

#: On a tile of 24 by 24, all about as heavy, so that the letter stands in the middle of each.
_SHAPES = {
    "circle": "M1 12a11 11 0 1 0 22 0 11 11 0 1 0-22 0z",
    "square": "M4 2h16a2 2 0 0 1 2 2v16a2 2 0 0 1-2 2H4a2 2 0 0 1-2-2V4a2 2 0 0 1 2-2z",
    "hexagon": "M6.5 1.5h11L23.5 12l-6 10.5h-11L.5 12z",
    "triangle": "M12 .5 24 22.5H0z",
    "diamond": "M12 0 24 12 12 24 0 12z",
    "octagon": "M7.5 1h9L23 7.5v9L16.5 23h-9L1 16.5v-9z",
    "shield": "M2 2h20v10c0 6-4.5 9.5-10 11.5C6.5 21.5 2 18 2 12z",
    "arch": "M2 23V11.5a10 10 0 0 1 20 0V23z",
}


def offer_look(letter: str) -> OfferLook:
    """How the offer with this letter looks. Raises KeyError for a letter that no offer has."""
    return _BY_LETTER[letter]


def offer_shape(letter: str) -> str:
    """The path of its shape on a tile of 24 by 24."""
    return _SHAPES[offer_look(letter).shape]


_BY_LETTER = {offer.letter: offer for offer in OFFERS}


#: Where the room of a shape is not in its middle: the baseline of the letter and its size, on the same tile.
_LETTERS = {"triangle": ("20.2", "11.5"), "diamond": ("16.4", "12.5"), "shield": ("16", "14"), "arch": ("18.4", "14")}


def letter_place(letter: str) -> tuple[str, str]:
    """The baseline of an offer's letter and its size, on a tile of 24 by 24."""
    return _LETTERS.get(offer_look(letter).shape, ("17.2", "15"))
