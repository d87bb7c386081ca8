"""The silhouettes of the states, ready to draw: on pages, in drawings and on paper alike."""

import math
from typing import NamedTuple

from config.look.tokens import STATES

#: The middle of the tile of 24 by 24, and the radius of the sector within the ring of "due".
_MIDDLE, _RADIUS = 12, 6.5
#: Of its notice time: an empty ring means "later", so that a ring of "due" always shows some.
_LEAST_SHARE = 1 / 30


class StateShape(NamedTuple):
    """What to draw on a tile of 24 by 24, in this order; an empty path is not drawn.

    ``filled`` is filled with the ink, ``outline`` is a stroke of 2 with ``dashes``, ``cut`` a stroke of 2 in the colour
    of the ground and ``sign`` one in the ink. All strokes have round ends.
    """

    name: str
    filled: str = ""
    outline: str = ""
    dashes: str = ""
    cut: str = ""
    sign: str = ""


def state_shape(name: str, days_left: int | None = None, notice_days: int = 30) -> StateShape:
    """The silhouette of a state of `tokens.STATES`. Raises KeyError for any other name.

    The ring of "due" fills as its notice time runs; if ``days_left`` is not known, it is full.
    """
    look = STATES[name]
    if look.is_filled:
        return StateShape(name, filled=look.shape, cut=look.sign)
    shape = StateShape(name, outline=look.shape, dashes=look.dashes, sign=look.sign)
    if name == "due":
        return shape._replace(filled=_sector(_share_run(days_left, notice_days)))
    return shape


def _share_run(days_left: int | None, notice_days: int) -> float:
    """How much of the notice time has run, as it is drawn: from nearly 0 to 1."""
    if days_left is None or notice_days <= 0:
        return 1.0
    return min(1.0, max(_LEAST_SHARE, 1 - days_left / notice_days))


def _sector(share: float) -> str:
    """The path of a sector from the top, clockwise."""
    top = _MIDDLE - _RADIUS
    if share >= 1:
        return f"M{_MIDDLE} {top}a{_RADIUS} {_RADIUS} 0 1 1-.01 0z"
    angle = 2 * math.pi * share
    x, y = _MIDDLE + _RADIUS * math.sin(angle), _MIDDLE - _RADIUS * math.cos(angle)
    return f"M{_MIDDLE} {_MIDDLE}V{top}A{_RADIUS} {_RADIUS} 0 {int(share > 0.5)} 1 {x:.2f} {y:.2f}z"
