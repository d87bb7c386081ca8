"""What the home page says in one line of something that has a page of its own."""

from typing import NamedTuple


class Line(NamedTuple):
    """A sentence without its full stop, the address that it opens ("" for none), and its icon."""

    words: str
    to: str
    icon: str
