"""What is typed where a field refuses it: still a figure or a day, so that what may be meant can be looked for."""

import re
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError

from config import quantities
from config.fields import DayField

_FIGURE = re.compile(r"-?(?:[0-9]{1,9}(?:\.[0-9]{0,4})?|\.[0-9]{1,4})")


def bare(text: str) -> str:
    """A figure without what may stand around and in it: pound sign, spaces, commas."""
    return re.sub(r"[\s£,]", "", text).replace("−", "-")


def figure(text: str, places: int) -> int | None:
    """The number in a text in units of which 10^``places`` make one, by floor; None if there is none to reckon with."""
    found = bare(text)
    return int(Decimal(found).scaleb(places) // 1) if _FIGURE.fullmatch(found) else None


def minutes(text: str) -> int | None:
    """The minutes in hours as they are typed."""
    try:
        return quantities.HOURS.read_typed(text) if text else None
    except quantities.Wrong:
        return None


def day(text: str) -> str | None:
    """A day, whether it has come or not."""
    try:
        found: date | None = DayField(required=False).to_python(text)
        return quantities.DAY.check(found).isoformat() if found else None
    except (ValidationError, quantities.Wrong):
        return None
