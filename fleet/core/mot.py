"""When an MOT certificate runs out, and when a test may be taken without losing days.

The official examples do not settle expiries on the 29th to the 31st: where a month lacks the day, its last
day is used here, and the words on pages say that such a day needs checking.
"""

from datetime import date, timedelta
from enum import StrEnum

from fleet.core.days import add_months
from fleet.core.defects import LegalRule

#: Road Traffic Act 1988 s.47 (read as at 2006); GOV.UK, Getting an MOT; nidirect, How the MOT scheme works.
_YEARS_BEFORE_FIRST = {"GB": 3, "NI": 4}


def first_mot_years(nation: str) -> int:
    """How many years after first registration a car needs its first MOT: three in ``GB``, four in ``NI``.

    KeyError for any other ``nation``.
    """
    return _YEARS_BEFORE_FIRST[nation]


def first_mot_due(first_registered: date, nation: str) -> date:
    """The day by which a car needs its first MOT: ``first_mot_years`` after first registration.

    A car first registered on 29 February is
    taken to be due on 28 February: the sooner, so never too late.
    """
    return add_months(first_registered, 12 * first_mot_years(nation))


def first_mot_to_come(first_registered: date | None, nation: str, on: date) -> date | None:
    """The first MOT day if it is known and not past on ``on``; None for an older car."""
    if first_registered is None:
        return None
    first = first_mot_due(first_registered, nation)
    return first if first >= on else None


def earliest_keeping_date(expiry: date) -> date:
    """The first day on which a pass keeps the same expiry day: one month less a day before ``expiry``.

    GOV.UK, Getting an MOT (read in a reproduction): an expiry of 15 May may be tested from 16 April. The
    same window applies before a first test: Road Traffic (NI) Order 1995 art.64(1A); in GB not confirmed.
    """
    return add_months(expiry, -1) + timedelta(days=1)


def next_expiry(test_day: date, expiry: date | None) -> date:
    """The last day of the certificate given for a pass on ``test_day``.

    ``expiry`` is the last day of the certificate before it, or the day by which the first was needed; None
    if that is not known. Inside the window the new one runs on from it for a year; taken earlier or later,
    it ends on the day before the anniversary of the test.
    """
    if expiry is not None and earliest_keeping_date(expiry) <= test_day <= expiry:
        return add_months(expiry, 12)
    return add_months(test_day, 12) - timedelta(days=1)


def is_window_in_doubt(expiry: date) -> bool:
    """Whether the month before may lack the day of ``expiry``, so that the window needs checking."""
    return expiry.day > 28


def expiry_limits(test_day: date) -> tuple[date, date]:
    """The earliest and latest day on which a certificate for a pass on ``test_day`` can end.

    C from M1-4 and M1-7: a year less a day if no days are carried over, and a month more at the most.
    """
    return add_months(test_day, 12) - timedelta(days=1), add_months(test_day, 13)


class AfterFailure(StrEnum):
    """Whether and where a car may be driven after a failed test, worst first."""

    NOT_AT_ALL = "not_at_all"
    TO_TEST_OR_REPAIR = "to_test_or_repair"
    UNTIL_EXPIRY = "until_expiry"


_RESULTS = "GOV.UK, Getting an MOT: results (secondary, as reproduced)"
_GETTING = "GOV.UK, Getting an MOT (secondary, as reproduced)"

#: M1-9 to M1-13.
FAILURE_RULES: dict[AfterFailure, LegalRule] = {
    AfterFailure.NOT_AT_ALL: LegalRule(
        "It was found dangerous: it must not be driven until that is repaired. Driving it can bring a fine of up to "
        "£2,500, three points and a ban.",
        _RESULTS,
    ),
    AfterFailure.TO_TEST_OR_REPAIR: LegalRule(
        "No certificate is in date: it may be driven to a place of repair or to a test booked beforehand, and "
        "nowhere else. It must be roadworthy for that.",
        _GETTING,
    ),
    AfterFailure.UNTIL_EXPIRY: LegalRule(
        "The old certificate is still in date and nothing dangerous was found: it may be driven away, but it must "
        "still be roadworthy.",
        _RESULTS,
    ),
}
RETEST_RULE = LegalRule(
    "If you leave the car at the test station and it is tested again within 10 working days, the retest is free or "
    "costs less.",
    _RESULTS,
)


def after_failure(on: date, expiry: date | None, *, is_dangerous: bool) -> AfterFailure:
    """Whether and where a failed car may be driven; ``expiry`` is the last day of the previous certificate."""
    if is_dangerous:
        return AfterFailure.NOT_AT_ALL
    if expiry is None or expiry < on:
        return AfterFailure.TO_TEST_OR_REPAIR
    return AfterFailure.UNTIL_EXPIRY
