"""How figures are shown everywhere: £1,234.56, 12,345, 13%, 5 March 2027."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal

#: A day and a month name a day within a year of today.
_DAYS_NAMED = 365


def pounds(amount: Decimal) -> str:
    """Pounds as £1,234.56, rounded half up to the penny, with any minus sign before the pound sign."""
    value = amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
    return f"{'−' if value < 0 else ''}£{abs(value):,.2f}"


def pence_as_pounds(pence: int) -> str:
    """Whole pence as £1,234.56. Raises ValueError for anything but an int, such as pounds passed by mistake."""
    if not isinstance(pence, int):
        raise ValueError(f"{pence!r} is not a sum of whole pence")
    whole_pounds, rest = divmod(abs(pence), 100)
    return f"{'−' if pence < 0 else ''}£{whole_pounds:,}.{rest:02}"


def on_one_line(text: str, *, longest: int) -> str:
    """Somebody's text made safe to print: on one line, without control characters, cut to ``longest``."""
    printable = "".join(char if char.isprintable() else " " for char in text[: longest + 1])
    return f"{printable[:longest]}…" if len(printable) > longest else printable


def unbroken(text: str) -> str:
    """The text with spaces at which no line breaks, for a registration mark in a sentence."""
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def whole(number: int) -> str:
    """A whole number with a comma at the thousands: 12,345."""
    return f"{number:,}"


def percent(figure: Decimal | int | str) -> str:
    """A figure in per cent, to as many places as it has: 13%, 95.2%."""
    return f"{figure}%"


def counted(number: int, thing: str) -> str:
    """How many of a thing whose plural ends in s: 1 file, 1,200 files."""
    return f"{whole(number)} {thing}{'' if number == 1 else 's'}"


def day(value: date) -> str:
    """A day: 5 March 2027."""
    return f"{value.day} {value:%B %Y}"


def span_of(first: date, last: date) -> str:
    """Write days as people say them: 5 March 2027; 5 to 11 March 2027; 28 February to 6 March 2027."""
    if first == last:
        return day(first)
    if first.year != last.year:
        return f"{day(first)} to {day(last)}"
    return f"{first.day}{'' if first.month == last.month else f' {first:%B}'} to {day(last)}"


def short_day(value: date, today: date) -> str:
    """A day where there is little room: 5 Mar, or 2029 alone if it is a year or more from ``today``."""
    return f"{value.day} {value:%b}" if abs((value - today).days) < _DAYS_NAMED else str(value.year)


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


def hours_taught(minutes: int) -> str:
    """Minutes as hours with their word: 1 hour, 1.5 hours."""
    number = hours(minutes)
    return f"{number} hour" if number == "1" else f"{number} hours"


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def in_words(count: int, most: int = 10) -> str:
    """A count within a sentence: as a word up to ``most`` (at most twelve), else in figures."""
    return _NUMBERS[count] if count <= most else str(count)


def within(title: str) -> str:
    """A title as it stands within a sentence: insurance, but MOT and ADI registration."""
    return title if title[1:2].isupper() else title[:1].lower() + title[1:]
