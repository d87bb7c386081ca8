"""Registration marks: how they are stored, and how they are shown."""

import re

#: Where the usual space goes, by layout of the mark (SI 2001/561, schedule 3, table A).
_LAYOUTS = (
    re.compile(r"([A-Z]{2}[0-9]{2})([A-Z]{3})"),  # current, since 1 September 2001
    re.compile(r"([A-Z][0-9]{1,3})([A-Z]{3})"),  # year letter first
    re.compile(r"([A-Z]{3})([0-9]{1,3}[A-Z])"),  # year letter last
    re.compile(r"([0-9]{1,4})([A-Z]{1,3})"),  # dateless
    re.compile(r"([A-Z]{1,3})([0-9]{1,4})"),  # dateless, Northern Ireland among them
)


def normalise(mark: str) -> str:
    """The mark in capitals without spaces or hyphens; never an O made a 0 or an I a 1."""
    return re.sub(r"[\s-]", "", mark).upper()


def read(text: str) -> str:
    """The mark in a text, as it is stored. Raises ValueError with words that follow "This ..."."""
    # Looked at as it was written: upper-casing turns some other letters, like a sharp s, into plain ones.
    if not re.fullmatch(r"[A-Za-z0-9]{2,8}", re.sub(r"[\s-]", "", text)):
        raise ValueError("is not a registration mark: write 2 to 8 letters and digits, as in QA51 ABC")
    return normalise(text)


def show(mark: str) -> str:
    """The stored mark with its usual space; unchanged if it has none of the layouts."""
    for layout in _LAYOUTS:
        if match := layout.fullmatch(mark):
            return f"{match[1]} {match[2]}"
    return mark
