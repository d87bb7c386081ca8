"""Expected beside actual, in words. What was expected is shown in whole pounds, because it rests on a plan."""

from collections.abc import Sequence
from typing import NamedTuple

from config.showing import pence_as_pounds, whole
from costing.choosing.core.so_far import Expected
from costing.choosing.pictures.wording import listed, pounds
from costing.choosing.services.expected_and_actual import ExpectedAndActual, Spending


class SoFarRow(NamedTuple):
    """One part: its words, what was expected and how far off it is in sentences, and what was paid."""

    label: str
    words: str
    actual: str


class UsageRow(NamedTuple):
    """Miles or hours: planned, and as recorded."""

    label: str
    why: str
    expected: str
    actual: str


def verdict(found: ExpectedAndActual) -> str:
    """The answer in one sentence."""
    if not found.both_known:
        return "Nothing is logged yet that can be held against what was expected"
    return difference(found.total).capitalize()


def _words(told: Expected) -> str:
    low, high = pounds(told.low), pounds(told.high)
    return low if low == high else f"{low} to {high}"


def notes(found: ExpectedAndActual) -> list[str]:
    """What isn't logged although it should have cost something by now, and what the offer did not tell."""
    said = []
    if found.unlogged:
        said.append(f"Nothing is logged yet for {_named(found.unlogged)}. Log what you have paid.")
    if found.not_told:
        said.append(f"The offer did not tell {_named(found.not_told)}, so nothing was expected there.")
    return said


def _named(parts: Sequence[Spending]) -> str:
    """Parts within a sentence: fuel, repairs and MOT."""
    return listed([part.label if part.label.isupper() else part.label.lower() for part in parts])


def total_expected(found: ExpectedAndActual) -> str:
    """What was expected in all of the parts of which both are known."""
    return _words(found.total.expected) if found.total.expected else ""


def difference(part: Spending) -> str:
    """How far actual and expected are apart; within a range, or by less than a pound, it is as expected."""
    if part.actual is None or part.expected is None:
        return ""
    above, below = part.actual - part.expected.high, part.expected.low - part.actual
    if max(above, below) < 100:
        is_range = part.expected.low < part.expected.high
        return "within what was expected" if is_range else "as expected"
    return f"{pounds(max(above, below))} {'more' if above > below else 'less'} than expected"


def spending_rows(found: ExpectedAndActual) -> list[SoFarRow]:
    """The money out, part by part."""
    return [
        SoFarRow(
            part.label,
            " ".join(_sentences(part)),
            "not known" if part.actual is None else pence_as_pounds(part.actual),
        )
        for part in found.spending
    ]


def _sentences(part: Spending) -> list[str]:
    expected = "Not told in the offer" if part.expected is None else f"{_words(part.expected)} expected"
    said = [expected, difference(part), part.why]
    return [f"{words[0].upper()}{words[1:]}." for words in said if words]


def usage_rows(found: ExpectedAndActual) -> list[UsageRow]:
    """Miles and lesson hours."""
    return [
        UsageRow(use.label, use.why, _number(use.expected), "not known" if use.actual is None else whole(use.actual))
        for use in found.usage
    ]


def _number(told: Expected) -> str:
    return whole(told.likely) if told.low == told.high else f"{whole(told.low)} to {whole(told.high)}"
