"""How figures are shown everywhere: £1,234.56, 12,345, 5 March 2027."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal


def pounds(amount: Decimal) -> str:
    """Pounds as £1,234.56, rounded half up to the penny, with any minus sign before the pound sign."""
    value = amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
    return f"{'−' if value < 0 else ''}£{abs(value):,.2f}"


def pence_as_pounds(pence: int) -> str:
    """Whole pence as £1,234.56. Raises ValueError for anything but an int, such as pounds passed by mistake."""
    if not isinstance(pence, int):
        raise ValueError(f"{pence!r} is not a sum of whole pence")
    return pounds(Decimal(pence).scaleb(-2))


def on_one_line(text: str, *, longest: int) -> str:
    """Somebody's text made safe to print: on one line, without control characters, cut to ``longest``."""
    printable = "".join(char if char.isprintable() else " " for char in text[: longest + 1])
    return f"{printable[:longest]}…" if len(printable) > longest else printable


def whole(number: int) -> str:
    """A whole number with a comma at the thousands: 12,345."""
    return f"{number:,}"


def day(value: date) -> str:
    """A day: 5 March 2027."""
    return f"{value.day} {value:%B %Y}"


#: A day that is nearer than this needs no year.
_SAME_SEASON = 300


def near_day(value: date, today: date) -> str:
    """A day as people say it on ``today``: today, yesterday, Monday (less than a week back or ahead), 3 November.

    Far from ``today`` it has its year.
    """
    days = (value - today).days
    if abs(days) <= 1:
        return {-1: "yesterday", 0: "today", 1: "tomorrow"}[days]
    if abs(days) < 7:
        return f"{value:%A}"
    return f"{value.day} {value:%B}" if abs(days) < _SAME_SEASON else day(value)


def month(value: date) -> str:
    """The month a day lies in: March 2027."""
    return f"{value:%B %Y}"


def hours(minutes: int) -> str:
    """Minutes as hours with at most two places: 1.5, 26, 0.25."""
    value = (Decimal(minutes) / 60).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return f"{value.normalize():,f}"


def spoken_day(value: date, today: date) -> str:
    """A day past or near as people say it: today, yesterday, on Monday, on 3 November, on 3 November 2025."""
    ago = (today - value).days
    if ago in (0, 1):
        return "today" if ago == 0 else "yesterday"
    if 1 < ago < 7:
        return f"on {value:%A}"
    return f"on {value.day} {value:%B}{'' if value.year == today.year else f' {value.year}'}"
