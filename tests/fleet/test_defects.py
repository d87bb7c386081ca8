"""The actions on defects: what each changes, what it leaves behind, and whom it tells."""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from costing.models import CostEntry
from fleet.actions import close_defect, reassess_defect, reopen_defect, report_defect, take_in_hand
from fleet.costs import WorkCost
from fleet.models import Car, Defect, DefectState, DefectStep, FoundBy, Photo, ReminderMail
from instructors.models import Member
from tests.factories import CarFactory, CoordinatorFactory, DefectFactory, MemberFactory
from tests.fleet.defects import done, told_of

TODAY = date(2026, 3, 16)

pytestmark = pytest.mark.usefixtures("today")

COORDINATOR, KEEPER = ["coordinator@book.example"], ["keeper@book.example"]


def report(by: Member, car: Car, **changes: Any) -> Defect:
    sent = {"ref": "r-1", "severity": "dangerous", "description": "Brake pedal goes to the floor", "found_on": TODAY}
    return report_defect(by=by, car=car, **sent | changes)[0]


def steps(defect: Defect) -> list[tuple[str, str, date, str]]:
    return [(step.state, step.severity, step.happened_on, step.words) for step in defect.steps.all()]


# --- Reporting --------------------------------------------------------------------------------------------


def test_a_defect_is_written_with_its_first_step_and_who_reported_it(car: Car, coordinator: Member) -> None:
    found = {"found_by": FoundBy.CHECK, "point": "brakes", "found_on": date(2026, 3, 12)}
    defect, is_new = report_defect(by=coordinator, car=car, ref="r", severity="watch", description="Worn pad", **found)
    assert is_new
    defect.refresh_from_db()
    assert (defect.car, defect.reported_by, defect.state, defect.closed_on) == (car, coordinator, "open", None)
    assert (defect.severity, defect.description, defect.found_by, defect.point) == (
        "watch",
        "Worn pad",
        "check",
        "brakes",
    )
    assert steps(defect) == [("open", "watch", date(2026, 3, 12), "")]
    assert defect.steps.get().by == coordinator
    assert defect.history.get().history_user == coordinator


def test_a_defect_sent_again_is_the_first_and_tells_nobody_again(car: Car, keeper: Member) -> None:
    first = report(keeper, car)
    again, is_new = report_defect(by=keeper, car=car, ref="r-1", severity="watch", description="Else", found_on=TODAY)
    assert (again, is_new, again.description) == (first, False, "Brake pedal goes to the floor")
    assert (Defect.objects.count(), DefectStep.objects.count(), ReminderMail.objects.count()) == (1, 1, 0)


def test_two_members_may_chance_on_the_same_reference(car: Car, keeper: Member, coordinator: Member) -> None:
    assert report(keeper, car) != report(coordinator, car)


def test_a_reference_sent_for_another_car_too_counts_for_the_first(car: Car, keeper: Member) -> None:
    other = CarFactory.create(keeper=keeper)
    assert report(keeper, other) == report(keeper, car)
    assert Defect.objects.get().car == other


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"found_on": TODAY + timedelta(days=1)}, "found_on"),
        ({"severity": "harmless"}, "severity"),
        ({"description": ""}, "description"),
        ({"description": "x" * 501}, "description"),
        ({"found_by": "hearsay"}, "found_by"),
    ],
)
def test_what_the_book_does_not_allow_is_refused_by_its_field(
    car: Car, keeper: Member, changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        report(keeper, car, **changes)
    assert set(refusal.value.message_dict) == {field}
    assert not Defect.objects.exists()


def test_a_picture_is_kept_as_the_defects(car: Car, coordinator: Member) -> None:
    defect = report(coordinator, car, picture=b"jpeg")
    photo = Photo.objects.get()
    assert defect.photo == photo
    assert (photo.car, photo.taken_by, photo.is_of_defect) == (car, coordinator, True)
    assert Path(photo.image.path).read_bytes() == b"jpeg"
    report(coordinator, car, picture=b"jpeg")
    assert Photo.objects.count() == 1


# --- Whom it is told --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("severity", "is_told"), [("dangerous", True), ("before_next_lesson", True), ("watch", False)])
def test_what_stops_the_car_is_told_to_its_keeper_and_every_coordinator_but_whoever_did_it(
    car: Car, keeper: Member, coordinator: Member, colleague: Member, severity: str, is_told: bool
) -> None:
    CoordinatorFactory.create(email="another@book.example")
    others = ["another@book.example", *KEEPER] if is_told else []
    assert told_of(report(coordinator, car, severity=severity)) == [others]
    others = ["another@book.example", *COORDINATOR] if is_told else []
    assert told_of(report(keeper, car, severity=severity)) == [others]


def test_whoever_has_left_is_told_nothing_and_a_keeper_who_coordinates_is_told_once(keeper: Member) -> None:
    CoordinatorFactory.create(left_on=TODAY - timedelta(days=1))
    leaver = MemberFactory.create(left_on=TODAY - timedelta(days=1))
    both = CoordinatorFactory.create(email="both@book.example")
    assert told_of(report(keeper, CarFactory.create(keeper=leaver))) == [["both@book.example"]]
    assert told_of(report(keeper, CarFactory.create(keeper=both), ref="r-2")) == [["both@book.example"]]


def test_it_is_told_again_each_time_the_defect_comes_to_stop_its_car(
    car: Car, keeper: Member, coordinator: Member
) -> None:
    defect = report(keeper, car, severity="watch")
    reassess_defect(by=keeper, defect=defect, severity="before_next_lesson", words="Worse")
    reassess_defect(by=keeper, defect=defect, severity="dangerous", words="Much worse")
    take_in_hand(by=keeper, defect=defect)
    lower = {"severity": "before_next_lesson", "words": "Only damp", "done_by": "Wharf Lane Motors", "done_on": TODAY}
    reassess_defect(by=coordinator, defect=defect, **lower, picture=b"jpeg")
    close_defect(by=keeper, defect=defect, **done(words="New pads"))
    reopen_defect(by=keeper, defect=defect, words="It is back")
    close_defect(by=coordinator, defect=defect, **done(words="New pads again"))
    assert told_of(defect) == [[], COORDINATOR, COORDINATOR, [], KEEPER, COORDINATOR, COORDINATOR, KEEPER]


def test_closing_what_was_only_watched_is_told_to_nobody(car: Car, keeper: Member, coordinator: Member) -> None:
    defect = report(keeper, car, severity="watch")
    close_defect(by=keeper, defect=defect, closed_on=TODAY, words="Polished")
    assert told_of(defect) == [[], []]


def test_nothing_is_told_of_what_was_not_written_after_all(car: Car, keeper: Member) -> None:
    with pytest.raises(ValidationError):
        report(keeper, car, description="")
    assert not ReminderMail.objects.exists()


# --- The steps --------------------------------------------------------------------------------------------


LESS = {"severity": "watch", "words": "Only the bulb", "done_by": "Wharf Lane Motors", "done_on": TODAY}


@pytest.fixture
def defect(car: Car) -> Defect:
    """One to be put right before the next lesson, found on 11 March."""
    found: Defect = DefectFactory.create(car=car, severity="before_next_lesson", description="Indicator out")
    return found


def test_every_step_is_kept_and_reopening_takes_none_away(defect: Defect, keeper: Member, coordinator: Member) -> None:
    take_in_hand(by=keeper, defect=defect, words="Booked in")
    reassess_defect(by=coordinator, defect=defect, **LESS)
    close_defect(by=keeper, defect=defect, closed_on=TODAY, words="New bulb")
    defect = reopen_defect(by=coordinator, defect=defect, words="Out again")
    assert (defect.state, defect.severity, defect.closed_on) == ("open", "watch", None)
    assert steps(defect) == [
        ("open", "before_next_lesson", date(2026, 3, 11), ""),
        ("in_hand", "before_next_lesson", TODAY, "Booked in"),
        ("in_hand", "watch", TODAY, "Only the bulb"),
        ("closed", "watch", TODAY, "New bulb"),
        ("open", "watch", TODAY, "Out again"),
    ]
    assert [step.by for step in defect.steps.all()] == [keeper, keeper, coordinator, keeper, coordinator]


def test_the_same_again_changes_nothing(defect: Defect, keeper: Member) -> None:
    for _ in range(2):
        take_in_hand(by=keeper, defect=defect)
    for _ in range(2):
        reassess_defect(by=keeper, defect=defect, **LESS)
    for _ in range(2):
        close_defect(by=keeper, defect=defect, closed_on=TODAY, words="New bulb")
    for _ in range(2):
        reopen_defect(by=keeper, defect=defect, words="Out again")
    assert [state for state, *_ in steps(defect)] == ["open", "in_hand", "in_hand", "closed", "open"]


def test_a_closed_defect_is_neither_taken_in_hand_nor_judged_nor_closed_otherwise(
    defect: Defect, keeper: Member
) -> None:
    close_defect(by=keeper, defect=defect, **done())
    for act, arguments in (
        (take_in_hand, {}),
        (reassess_defect, {"severity": "watch", "words": "Bulb"}),
        (close_defect, {"closed_on": TODAY, "words": "Something else"}),
    ):
        with pytest.raises(ValidationError, match="It was closed on 16 March 2026"):
            act(by=keeper, defect=defect, **arguments)  # type: ignore[operator]


def test_a_reason_is_asked_for_and_a_severity_must_be_one(defect: Defect, keeper: Member) -> None:
    for arguments, field in (
        ({"severity": "watch", "words": ""}, "words"),
        ({"severity": "odd", "words": "x"}, "severity"),
    ):
        with pytest.raises(ValidationError) as refusal:
            reassess_defect(by=keeper, defect=defect, **arguments)
        assert set(refusal.value.message_dict) == {field}
    with pytest.raises(ValidationError, match="Say what was done"):
        close_defect(by=keeper, defect=defect, **done(words=""))
    close_defect(by=keeper, defect=defect, **done())
    with pytest.raises(ValidationError, match="Say what is still wrong"):
        reopen_defect(by=keeper, defect=defect, words="")


@pytest.mark.parametrize(
    ("closed_on", "why"),
    [
        (date(2026, 3, 17), "17 March 2026 is yet to come."),
        (date(2026, 3, 10), "It was still open on 11 March 2026."),
    ],
)
def test_a_defect_is_closed_on_a_day_on_which_it_can_have_been(
    defect: Defect, keeper: Member, closed_on: date, why: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        close_defect(by=keeper, defect=defect, **done(closed_on=closed_on))
    assert refusal.value.message_dict == {"closed_on": [why]}


# --- What it cost -----------------------------------------------------------------------------------------


COST = WorkCost("repairs", TODAY, Decimal("86.40"), supplier="Wharf Lane Motors", note="New bulb")


def test_a_cost_is_logged_once_and_its_step_keeps_the_reference(defect: Defect, keeper: Member) -> None:
    for _ in range(2):
        close_defect(by=keeper, defect=defect, **done(), cost=COST, cost_ref="c-1")
    entry = CostEntry.objects.get()
    assert (entry.member, entry.car, entry.ref, entry.amount) == (keeper, defect.car, "c-1", Decimal("86.40"))
    assert (entry.category, entry.paid_on, entry.supplier) == ("repairs", TODAY, "Wharf Lane Motors")
    assert [step.cost_ref for step in defect.steps.all()] == ["", "c-1"]


def test_only_the_cars_keeper_gives_a_cost_and_then_nothing_is_written(defect: Defect, coordinator: Member) -> None:
    with pytest.raises(ValidationError, match="keeper"):
        close_defect(by=coordinator, defect=defect, **done(), cost=COST, cost_ref="c-1")
    defect.refresh_from_db()
    assert (defect.state, CostEntry.objects.count()) == (DefectState.OPEN, 0)


def test_without_a_cost_no_reference_is_kept(defect: Defect, keeper: Member) -> None:
    close_defect(by=keeper, defect=defect, **done(), cost_ref="c-1")
    assert [step.cost_ref for step in defect.steps.all()] == ["", ""]
