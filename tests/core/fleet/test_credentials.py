from datetime import date

import pytest

from fleet.core.credentials import adi_renewal_from, record_check_from


@pytest.mark.parametrize(
    ("last_day", "opens", "check"),
    [
        (date(2026, 3, 31), date(2026, 3, 1), date(2025, 12, 31)),
        (date(2027, 1, 15), date(2026, 12, 16), date(2026, 10, 15)),
        # The month three before has no 31st: its last day is the sooner, so never too late.
        (date(2026, 5, 31), date(2026, 5, 1), date(2026, 2, 28)),
    ],
)
def test_a_registration_is_renewed_in_its_last_thirty_days_and_its_check_asked_for_three_months_before(
    last_day: date, opens: date, check: date
) -> None:
    assert (adi_renewal_from(last_day), record_check_from(last_day)) == (opens, check)
