"""Each tyre in words and as a drawing, ready for a page."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from config.charts.tread import TreadOverMiles
from config.showing import day, whole
from fleet.charts import tread_over_miles
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST, Depth, Move
from fleet.core.wear import GAUGE_ERROR, TreadLimit, TreadState, Wear, WearUnknown
from fleet.models import Wheel
from fleet.wording import no_forecast_words

_STATE_WORDS: dict[TreadState, str] = {
    TreadState.UNLAWFUL: f"Below {LEGAL_LEAST} mm",
    TreadState.READ_AGAIN: "Read it again now",
    TreadState.LOW: f"Down to {PRACTICE_LEAST} mm",
    TreadState.ABOVE: f"Above {PRACTICE_LEAST} mm",
    TreadState.NOT_READ: "Not read",
}

_UNKNOWN_WEAR_WORDS: dict[WearUnknown, str] = {
    WearUnknown.NO_READINGS: "its tread has not been read",
    WearUnknown.ONE_READING: "it has been read only once, and wear shows between two readings",
    WearUnknown.NO_MILES_KNOWN: "fewer than two of its readings lie between readings of the odometer",
    WearUnknown.NO_MILES_BETWEEN: "no miles were run between its readings",
    WearUnknown.RISING: f"its tread rose by more than {GAUGE_ERROR} mm between readings: a different tyre, or a slip",
    WearUnknown.NOT_FALLING: "its readings do not fall: a different tyre, or a slip",
}
#: The class of each state, shared with the states of due items.
_STATES = {
    TreadState.UNLAWFUL: "off",
    TreadState.READ_AGAIN: "overdue",
    TreadState.LOW: "due",
    TreadState.ABOVE: "later",
    TreadState.NOT_READ: "unknown",
}
_ADVICE = {
    TreadState.UNLAWFUL: "The car is off the road until a new tyre is fitted and recorded, or the reading corrected.",
    TreadState.READ_AGAIN: "By its wear it may be unlawful by now: measure it before you drive.",
    TreadState.LOW: (
        f"Have it replaced soon. {PRACTICE_LEAST} mm is common practice, not law: below it, wet grip is poorer."
    ),
}


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading in the table: ``wheel`` is where the tyre was then, ``miles`` the odometer, if known."""

    depth: Depth
    wheel: str
    miles: str


@dataclass(frozen=True, slots=True)
class TyreWords:
    """One tyre in words and as a drawing; an empty text is not shown."""

    wheel: str
    title: str
    state: str
    state_words: str
    latest: Depth | None
    fitted_on: date | None
    advice: str
    limits: list[tuple[str, str]]
    basis: str
    missing: str
    without_miles: str
    chart: TreadOverMiles | None
    rows: list[ReadingRow]


def tyre_words(wear: Wear) -> TyreWords:
    """The tyre at one wheel in words, as of the day of its report."""
    title = wheel_words(wear.wheel)
    limits = [(f"{PRACTICE_LEAST} mm, common practice", wear.practice), (f"{LEGAL_LEAST} mm, the law", wear.legal)]
    return TyreWords(
        wheel=wear.wheel,
        title=title,
        state=_STATES[wear.state],
        state_words=_STATE_WORDS[wear.state],
        latest=wear.latest,
        fitted_on=wear.fitted_on,
        advice=_ADVICE.get(wear.state, ""),
        limits=[(name, words) for name, limit in limits if (words := _limit_words(limit))],
        basis=_basis(wear),
        missing=f"No forecast, as {_UNKNOWN_WEAR_WORDS[wear.missing]}." if wear.missing else "",
        without_miles=_without_miles(wear),
        chart=tread_over_miles(title, wear),
        rows=_rows(wear),
    )


def wheel_words(wheel: str) -> str:
    """A wheel as people say it: Front left."""
    return str(Wheel(wheel).label)


def move_words(move: Move) -> str:
    """What came to a wheel: "Front left: the tyre from rear left"."""
    came = f"the tyre from {wheel_words(move.came_from).lower()}" if move.came_from else "a new tyre"
    return f"{wheel_words(move.wheel)}: {came}"


def rate_words(rate: Fraction) -> str:
    """Wear as "0.25 mm in 1,000 miles", to two places."""
    shown = (Decimal(rate.numerator) / rate.denominator).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return f"{shown or 'less than 0.01'} mm in 1,000 miles"


def _basis(wear: Wear) -> str:
    """What the forecast rests on; empty if there is none."""
    if wear.rate is None or wear.pace is None:
        return ""
    first, last = wear.points[0], wear.points[-1]
    readings = f"{len(wear.points)} readings from {day(first.depth.read_on)} to {day(last.depth.read_on)}"
    words = f"Wears {rate_words(wear.rate)}, by {readings}, {whole(last.miles - first.miles)} miles apart."
    if wear.legal.on is None and wear.practice.on is None:
        return words
    pace = wear.pace
    ran = f"{whole(pace.miles)} miles in {pace.days} days; odometer last read on {day(pace.last_read_on)}"
    return f"{words} Days worked out from {ran}."


def _without_miles(wear: Wear) -> str:
    count = wear.without_miles_count
    if not count:
        return ""
    which = "1 reading counts" if count == 1 else f"{count} readings count"
    return f"{which} for no forecast: the mileage on that day is not known."


def _rows(wear: Wear) -> list[ReadingRow]:
    miles = {point.depth: whole(point.miles) for point in wear.points}
    return [
        ReadingRow(depth, wheel_words(depth.wheel), miles.get(depth, "not known")) for depth in reversed(wear.readings)
    ]


def _limit_words(limit: TreadLimit) -> str:
    """When a tyre reaches a limit: "in about 10,400 miles, about 18 August 2027"; empty if it cannot be worked out."""
    if limit.is_below:
        return "below it now"
    if limit.miles is None:
        return ""
    if limit.is_reached:
        return "at its rate of wear, reached by now"
    miles = f"in about {whole(limit.miles)} miles"
    if limit.missing:
        return f"{miles}; no day, as {no_forecast_words(limit.missing)}"
    return f"{miles}, about {day(limit.on)}" if limit.on else miles
