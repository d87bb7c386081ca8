from datetime import date

import pytest

from fleet.core.recurrence import (
    CannotRollOn,
    Interval,
    Met,
    NextDue,
    adi_renewal_from,
    leaves_no_gap,
    next_due,
    record_check_from,
    renewed_from,
)

DONE = date(2026, 3, 16)


def test_an_mot_rolls_on_by_the_rule_of_its_certificate() -> None:
    assert next_due("mot", date(2026, 4, 3), Interval(), Met(DONE)) == NextDue(date(2027, 4, 3), None)
    assert next_due("mot", None, Interval(), Met(DONE)) == NextDue(date(2027, 3, 15), None)


def test_the_day_on_the_paper_goes_before_the_rule() -> None:
    met = Met(DONE, next_due_on=date(2027, 4, 1))
    assert next_due("mot", date(2026, 4, 3), Interval(), met).due_on == date(2027, 4, 1)


def test_a_service_comes_back_by_months_from_the_day_and_miles_from_the_odometer() -> None:
    met = Met(DONE, odometer=48_000)
    assert next_due("service", None, Interval(12, 10_000), met) == NextDue(date(2027, 3, 16), 58_000)


def test_by_months_alone_or_miles_alone() -> None:
    assert next_due("service", None, Interval(6), Met(DONE, 48_000)) == NextDue(date(2026, 9, 16), None)
    assert next_due("service", None, Interval(miles=9_000), Met(DONE, 48_000)) == NextDue(None, 57_000)


def test_by_miles_the_odometer_must_be_given() -> None:
    with pytest.raises(CannotRollOn) as refusal:
        next_due("service", None, Interval(12, 10_000), Met(DONE))
    assert set(refusal.value.faults) == {"odometer"}


@pytest.mark.parametrize("kind", ["insurance", "vehicle_tax", "breakdown_cover", "adi_registration", "driving_licence"])
def test_cover_and_credentials_need_their_next_day(kind: str) -> None:
    with pytest.raises(CannotRollOn) as refusal:
        next_due(kind, date(2026, 4, 1), Interval(), Met(DONE))
    assert set(refusal.value.faults) == {"next_due_on"}
    told = Met(DONE, next_due_on=date(2027, 4, 1))
    assert next_due(kind, date(2026, 4, 1), Interval(), told) == NextDue(date(2027, 4, 1), None)


def test_a_trainee_licence_runs_as_long_as_they_do_unless_its_paper_says_otherwise() -> None:
    assert next_due("pdi_licence", date(2026, 3, 31), Interval(), Met(DONE)).due_on == date(2026, 9, 15)
    told = Met(DONE, next_due_on=date(2026, 9, 30))
    assert next_due("pdi_licence", date(2026, 3, 31), Interval(), told).due_on == date(2026, 9, 30)


def test_a_next_day_that_is_not_after_the_day_done_is_refused() -> None:
    with pytest.raises(CannotRollOn) as refusal:
        next_due("insurance", None, Interval(), Met(DONE, next_due_on=DONE))
    assert set(refusal.value.faults) == {"next_due_on"}


def test_dual_controls_come_back_yearly_if_nothing_else_is_said() -> None:
    assert next_due("dual_controls", None, Interval(), Met(DONE)).due_on == date(2027, 3, 16)
    assert next_due("dual_controls", None, Interval(6), Met(DONE)).due_on == date(2026, 9, 16)


def test_a_refusal_says_every_fault() -> None:
    with pytest.raises(CannotRollOn) as refusal:
        next_due("insurance", None, Interval(miles=9_000), Met(DONE))
    assert set(refusal.value.faults) == {"next_due_on", "odometer"}
    assert str(refusal.value) == " ".join(refusal.value.faults.values())


def test_what_has_no_interval_does_not_come_back() -> None:
    assert next_due("other", date(2026, 4, 1), Interval(), Met(DONE)).is_end
    assert not next_due("other", None, Interval(3), Met(DONE)).is_end


@pytest.mark.parametrize(
    ("since", "until_now", "no_gap"),
    [
        (DONE, None, True),
        (date(2026, 3, 17), None, False),
        (date(2026, 4, 1), date(2026, 3, 31), True),
        (date(2026, 4, 2), date(2026, 3, 31), False),
        (date(2026, 3, 16), date(2026, 2, 1), True),
    ],
)
def test_cover_leaves_no_gap_if_it_has_begun_or_follows_on_the_old(
    since: date, until_now: date | None, no_gap: bool
) -> None:
    assert leaves_no_gap(since, until_now, DONE) is no_gap


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


@pytest.mark.parametrize(
    ("until_now", "late_days", "first"),
    [
        (None, 0, "2026-03-16"),
        # Renewed on 16 March, twelve days before the old cover ends: it begins the day after that.
        (date(2026, 3, 28), 0, "2026-03-29"),
        (date(2026, 3, 16), 0, "2026-03-17"),
        (date(2026, 3, 15), 0, "2026-03-16"),
        # One day without cover is a gap, unless so many are let pass.
        (date(2026, 3, 14), 0, "2026-03-16"),
        (date(2026, 3, 14), 1, "2026-03-15"),
        (date(2026, 3, 13), 1, "2026-03-16"),
    ],
)
def test_renewed_cover_begins_the_day_after_the_old_one_ends(
    until_now: date | None, late_days: int, first: str
) -> None:
    assert renewed_from(DONE, until_now, late_days) == date.fromisoformat(first)
