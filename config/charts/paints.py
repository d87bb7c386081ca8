"""The colours of a picture: on a light screen, a dark one, in greyscale and on paper."""

from collections.abc import Mapping

from config.look.tokens import OFFERS, SHADES, SHEET, TONES

#: A scheme names the colour of each paint.
Scheme = Mapping[str, str]


def offer_paint(letter: str) -> str:
    """The name of an offer's tone."""
    return f"o-{letter.lower()}"


def _grey(colour: str) -> str:
    """The grey that is as light as a colour, by the weights of ITU-R BT.601, as a printer takes them."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    light = round(0.299 * red + 0.587 * green + 0.114 * blue)
    return f"#{light:02x}{light:02x}{light:02x}"


_LIGHT: Scheme = {
    **{shade.name: shade.light for shade in SHADES.values()},
    **{tone.name: tone.light for tone in TONES.values()},
    **{offer_paint(offer.letter): offer.light for offer in OFFERS},
}
_DARK: Scheme = {
    **{shade.name: shade.dark for shade in SHADES.values()},
    **{tone.name: tone.dark for tone in TONES.values()},
    **{offer_paint(offer.letter): offer.dark for offer in OFFERS},
}
SCHEMES: dict[str, Scheme] = {
    "light": _LIGHT,
    "dark": _DARK,
    "greyscale": {name: _grey(colour) for name, colour in _LIGHT.items()},
    # What nothing is printed on is as white as the sheet.
    "paper": {**_LIGHT, "paper": SHEET, "card": SHEET},
}
