"""How serious a defect is, what follows from it, and what the law allows until it is put right.

A source is named with its standing: official, or secondary if it was read in a text that repeats the official one.
None of it replaces the word of a qualified technician.
"""

from datetime import date
from enum import StrEnum
from typing import NamedTuple


class Severity(StrEnum):
    """Worst first."""

    DANGEROUS = "dangerous"
    BEFORE_NEXT_LESSON = "before_next_lesson"
    WATCH = "watch"

    @property
    def stops_car(self) -> bool:
        """Whether a car with such a defect must not be used for lessons."""
        return self is not Severity.WATCH

    @property
    def words(self) -> str:
        """What it is called on pages, in mails and on paper."""
        return _SEVERITY_WORDS[self]


_SEVERITY_WORDS = {
    Severity.DANGEROUS: "Dangerous, do not drive",
    Severity.BEFORE_NEXT_LESSON: "Put right before the next lesson",
    Severity.WATCH: "Keep an eye on it",
}


class PutRight(NamedTuple):
    """By whom (a garage or a person) and on which day a defect is said to have been put right."""

    by: str
    on: date


class OpenDefect(NamedTuple):
    """A defect that is not closed; ``key`` is the row's id.

    ``put_right`` is what was said of a dangerous one that waits for a second member to confirm it.
    """

    key: int
    severity: Severity
    description: str
    found_on: date
    put_right: PutRight | None = None


def is_relief(before: Severity, after: Severity | None) -> bool:
    """Whether a grave defect is closed (``after`` None) or judged less serious.

    Then the book asks what was done, by whom and when.
    """
    order = list(Severity)
    return before.stops_car and (after is None or order.index(after) > order.index(before))


def needs_evidence(before: Severity, after: Severity | None) -> bool:
    """Whether it also takes a photo of the paper, or a second member who has seen it: to end a danger."""
    return before is Severity.DANGEROUS and is_relief(before, after)


def comes_to_stop(before: Severity | None, after: Severity | None) -> bool:
    """Whether a defect now stops its car and did not before, or is more serious than before; None: not open."""
    if after is None or not after.stops_car:
        return False
    order = list(Severity)
    return before is None or order.index(after) < order.index(before)


class LegalRule(NamedTuple):
    """One thing that the law or good practice says, and where that was read."""

    words: str
    source: str


class Consequence(NamedTuple):
    """What to do about a defect now, and what the law says until it is put right."""

    to_do: str
    rules: tuple[LegalRule, ...]


_MOT_RESULTS = "GOV.UK, Getting an MOT: results (secondary)"
_UNROADWORTHY = LegalRule(
    "Using a car that is not roadworthy can cost up to £2,500, three points and a ban, even with an MOT in date.",
    "GOV.UK, Vehicle safety: check your vehicle is safe to drive (secondary)",
)
_TYRES = LegalRule(
    "For tyres the most is £2,500 and three points for each tyre that breaks the law.",
    "Legal pages on the Road Traffic Act 1988 s.41A (secondary)",
)

CONSEQUENCES: dict[Severity, Consequence] = {
    Severity.DANGEROUS: Consequence(
        "Do not drive it at all, not even to a garage. Have a qualified technician look at it where it stands.",
        (
            LegalRule(
                "An item listed as dangerous at an MOT test fails it, and the car must not be driven until it is "
                "repaired.",
                _MOT_RESULTS,
            ),
            LegalRule(
                "Driving after such a fail can cost up to £2,500, three points and a ban.",
                _MOT_RESULTS,
            ),
            _UNROADWORTHY,
            _TYRES,
        ),
    ),
    Severity.BEFORE_NEXT_LESSON: Consequence(
        "Give no lesson in it until it is put right. Whether it may be driven to where that is done is for a "
        "qualified technician to say, with the vehicle's handbook.",
        (
            LegalRule("An item listed as major at an MOT test fails it.", _MOT_RESULTS),
            LegalRule(
                "After a fail the car may be taken away only if the certificate before is still in date and no item "
                "was listed as dangerous; it must be roadworthy all the same.",
                _MOT_RESULTS,
            ),
            LegalRule(
                "Without an MOT in date it may be driven only to a test booked beforehand or to a place of repair; "
                "the fine is up to £1,000.",
                "GOV.UK, Getting an MOT (secondary)",
            ),
            _UNROADWORTHY,
            _TYRES,
        ),
    ),
    Severity.WATCH: Consequence(
        "Look at it at every check. If it gets worse, reassess it; if in doubt, ask a qualified technician.",
        (
            LegalRule(
                "An item listed as minor at an MOT test passes and is to be repaired soon; an advisory passes and is "
                "to be watched.",
                _MOT_RESULTS,
            ),
            _UNROADWORTHY,
        ),
    ),
}
