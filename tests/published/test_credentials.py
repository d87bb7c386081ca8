"""The days of instructors' credentials against what has been published.

Status of each: V2 read in a secondary text only, C worked out from the stated rule, FROM MEMORY not confirmed.
"""

from datetime import date

from fleet.core.due import DueRecord, State, due_status
from fleet.core.odometer import Odometer
from fleet.core.recurrence import Interval, Met, adi_renewal_from, next_due, record_check_from


def test_an_adi_registration_is_renewed_in_its_last_thirty_days() -> None:
    # D10-9 and the reminder checks, V2: DVSA guidance as instructor bodies reproduce it.
    assert adi_renewal_from(date(2026, 3, 31)) == date(2026, 3, 1)


def test_the_criminal_record_check_is_given_about_three_months() -> None:
    # D10-9, V2; that they are calendar months is ours.
    assert record_check_from(date(2026, 3, 31)) == date(2025, 12, 31)
    assert record_check_from(date(2026, 5, 31)) == date(2026, 2, 28)
    unread = Odometer(())
    registered = DueRecord("adi_registration", date(2026, 3, 31))
    # The notice of a registration is 120 days, so that the check can be asked for within it.
    assert due_status(registered, date(2025, 12, 1), unread).state is State.DUE
    assert due_status(registered, date(2025, 11, 30), unread).state is State.LATER


def test_a_trainee_licence_runs_six_months() -> None:
    # Reminder checks, C; that it is six months is FROM MEMORY (D10-10).
    assert next_due("pdi_licence", None, Interval(), Met(date(2026, 11, 25))).due_on == date(2027, 5, 24)


def test_a_photocard_is_due_on_the_day_it_bears() -> None:
    # D10-14, V2: the day at 4b is the due day itself; the day after, it has run out.
    card = DueRecord("driving_licence", date(2026, 3, 16))
    assert due_status(card, date(2026, 3, 16), Odometer(())).days_left == 0
    assert due_status(card, date(2026, 3, 17), Odometer(())).state is State.OVERDUE
