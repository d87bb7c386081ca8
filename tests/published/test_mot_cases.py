"""Sixty MOT days worked out by hand, and the same worked out again by another library's months.

The rule is M1-1, M1-3, M1-4, M1-6 and M1-7: Road Traffic Act 1988 s.47 (V, read as at 2006), nidirect (V), GOV.UK
"Getting an MOT" (V2, as reproduced), Road Traffic (NI) Order 1995 art.64 (V). Each row is C: arithmetic from that
rule. No official example settles the 29th to the 31st: those rows say what this book takes, the month's last day.
"""

from datetime import date, timedelta
from typing import NamedTuple

import pytest
from dateutil.relativedelta import relativedelta

from fleet.core.mot import earliest_keeping_date, expiry_limits, first_mot_due, next_expiry


class Case(NamedTuple):
    """``given`` is the expiry of the certificate before, or with ``is_first`` the day of first registration."""

    nation: str
    is_first: bool
    given: str
    tested: str
    expires: str
    is_kept: bool


def after(given: str, tested: str, expires: str, *, kept: bool, nation: str = "GB") -> Case:
    return Case(nation, False, given, tested, expires, kept)


def first(nation: str, given: str, tested: str, expires: str, *, kept: bool) -> Case:
    return Case(nation, True, given, tested, expires, kept)


CASES = [
    # In the window, a day before it, a day after expiry.
    after("2026-05-15", "2026-04-16", "2027-05-15", kept=True),
    after("2026-05-15", "2026-05-01", "2027-05-15", kept=True),
    after("2026-05-15", "2026-05-15", "2027-05-15", kept=True),
    after("2026-05-15", "2026-04-15", "2027-04-14", kept=False),
    after("2026-05-15", "2026-04-10", "2027-04-09", kept=False),
    after("2026-05-15", "2026-05-16", "2027-05-15", kept=False),
    after("2026-05-15", "2026-06-20", "2027-06-19", kept=False, nation="NI"),
    # Over the turn of a year and of a month.
    after("2027-01-01", "2026-12-02", "2028-01-01", kept=True),
    after("2027-01-01", "2026-12-01", "2027-11-30", kept=False),
    after("2027-01-01", "2027-01-02", "2028-01-01", kept=False),
    after("2026-12-31", "2026-12-01", "2027-12-31", kept=True),
    after("2026-12-31", "2026-11-30", "2027-11-29", kept=False),
    after("2026-12-31", "2027-01-01", "2027-12-31", kept=False),
    after("2026-03-01", "2026-02-02", "2027-03-01", kept=True),
    after("2026-03-01", "2026-02-01", "2027-01-31", kept=False),
    after("2026-02-01", "2026-01-02", "2027-02-01", kept=True),
    after("2026-02-01", "2026-01-01", "2026-12-31", kept=False),
    # Expiries whose day of the month February lacks: its last day is taken.
    after("2026-03-31", "2026-03-01", "2027-03-31", kept=True),
    after("2026-03-31", "2026-02-28", "2027-02-27", kept=False),
    after("2026-03-30", "2026-03-01", "2027-03-30", kept=True),
    after("2026-03-30", "2026-02-28", "2027-02-27", kept=False),
    after("2026-03-29", "2026-03-01", "2027-03-29", kept=True),
    after("2026-03-29", "2026-02-28", "2027-02-27", kept=False),
    after("2026-03-28", "2026-03-01", "2027-03-28", kept=True),
    after("2026-03-28", "2026-02-28", "2027-02-27", kept=False),
    # Other ends of months, long and short.
    after("2026-05-31", "2026-05-01", "2027-05-31", kept=True),
    after("2026-05-31", "2026-04-30", "2027-04-29", kept=False),
    after("2026-07-31", "2026-07-01", "2027-07-31", kept=True),
    after("2026-07-31", "2026-06-30", "2027-06-29", kept=False),
    after("2026-08-31", "2026-08-01", "2027-08-31", kept=True),
    after("2026-08-31", "2026-07-31", "2027-07-30", kept=False),
    after("2026-10-31", "2026-10-01", "2027-10-31", kept=True),
    after("2026-04-30", "2026-03-31", "2027-04-30", kept=True),
    after("2026-04-30", "2026-03-30", "2027-03-29", kept=False),
    after("2026-04-30", "2026-05-01", "2027-04-30", kept=False),
    after("2026-09-30", "2026-08-31", "2027-09-30", kept=True, nation="NI"),
    after("2026-11-30", "2026-10-30", "2027-10-29", kept=False),
    # The end of February, in leap years and others.
    after("2027-02-28", "2027-01-29", "2028-02-28", kept=True),
    after("2027-02-28", "2027-01-28", "2028-01-27", kept=False),
    after("2027-02-28", "2027-03-01", "2028-02-29", kept=False),
    after("2028-02-29", "2028-01-30", "2029-02-28", kept=True),
    after("2028-02-29", "2028-01-29", "2029-01-28", kept=False),
    after("2028-02-29", "2028-02-29", "2029-02-28", kept=True),
    after("2028-02-28", "2028-02-29", "2029-02-27", kept=False),
    after("2028-03-31", "2028-03-01", "2029-03-31", kept=True),
    after("2028-03-31", "2028-02-29", "2029-02-27", kept=False),
    after("2028-03-30", "2028-02-29", "2029-02-27", kept=False),
    after("2028-03-29", "2028-03-01", "2029-03-29", kept=True),
    after("2028-03-28", "2028-02-29", "2029-03-28", kept=True),
    after("2029-02-28", "2029-02-28", "2030-02-28", kept=True, nation="NI"),
    # First tests: three years after first registration in Great Britain, four in Northern Ireland.
    first("GB", "2023-06-10", "2026-05-11", "2027-06-10", kept=True),
    first("GB", "2023-06-10", "2026-05-10", "2027-05-09", kept=False),
    first("GB", "2023-06-10", "2026-06-10", "2027-06-10", kept=True),
    first("GB", "2023-06-10", "2026-06-11", "2027-06-10", kept=False),
    first("GB", "2024-02-29", "2027-01-29", "2028-02-28", kept=True),
    first("GB", "2023-03-31", "2026-03-01", "2027-03-31", kept=True),
    first("NI", "2023-06-10", "2027-05-11", "2028-06-10", kept=True),
    first("NI", "2023-06-10", "2027-05-10", "2028-05-09", kept=False),
    first("NI", "2024-02-29", "2028-01-30", "2029-02-28", kept=True),
    first("NI", "2022-01-31", "2026-01-01", "2027-01-31", kept=True),
]


def test_there_are_sixty_different_ones() -> None:
    assert len(set(CASES)) == 60


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.nation}-{case.given}-{case.tested}")
def test_an_mot_day_worked_out_by_hand(case: Case) -> None:
    given, tested, expires = map(date.fromisoformat, (case.given, case.tested, case.expires))
    due = first_mot_due(given, case.nation) if case.is_first else given
    assert next_expiry(tested, due) == expires
    assert (earliest_keeping_date(due) <= tested <= due) == case.is_kept
    least, most = expiry_limits(tested)
    assert least <= expires <= most


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.nation}-{case.given}-{case.tested}")
def test_another_librarys_months_give_the_same(case: Case) -> None:
    given, tested, expires = map(date.fromisoformat, (case.given, case.tested, case.expires))
    one_day = timedelta(days=1)
    due = given + relativedelta(years=3 if case.nation == "GB" else 4) if case.is_first else given
    is_kept = due - relativedelta(months=1) + one_day <= tested <= due
    assert is_kept == case.is_kept
    assert (due + relativedelta(years=1) if is_kept else tested + relativedelta(years=1) - one_day) == expires
