"""A dangerous car does not come back on the road unseen: every order of actions, and everybody's pages in any order.

The rule is kept here a second time, by hand: a danger is over once a photo of the paper was recorded with the repair,
or once somebody other than whoever recorded the latest repair confirmed that one.
"""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from fleet import actions
from fleet.models import Car, Defect, DefectStep, DueItem, MailKind, ReminderMail, WalkaroundCheck
from fleet.queries import due_report, secret_of
from instructors.models import Member
from tests.factories import CarFactory, CoordinatorFactory, DueItemFactory, MemberFactory
from tests.pictures import picture_bytes

TODAY = date(2026, 3, 16)

pytestmark = pytest.mark.usefixtures("today")


def is_off_the_road(car: Car) -> bool:
    [due] = due_report(TODAY, cars=[Car.objects.get(pk=car.pk)]).cars
    return any(reason.name == "dangerous" for reason in due.reasons)


def found_dangerous(by: Member, car: Car) -> Defect:
    """A danger found by a walkaround check, in a car that must pass its MOT."""
    DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 30))
    fault = actions.PointFault("brakes", "dangerous", "Pedal soft")
    actions.record_group(by=by, car=car, ref=str(uuid4()), checked_on=TODAY, group="inside", faults=[fault])
    return Defect.objects.get(car=car)


def latest_wait() -> DefectStep:
    return DefectStep.objects.filter(state="waiting").latest("pk")


# --- One member alone, every order of actions ----------------------------------------------------------------

Act = Callable[[], object]


def acts_of(by: Member, car: Car) -> dict[str, Act]:
    """Everything a keeper may do to the car, its defect, its check and its MOT, without a photo."""
    done: dict[str, Any] = {"words": "New seals", "done_by": "Wharf Lane Motors"}

    def defect() -> Defect:
        return Defect.objects.get(car=car)

    def mot() -> DueItem:
        return DueItem.objects.get(car=car, kind="mot", closed_on__isnull=True)

    def judge(severity: str) -> Act:
        return lambda: actions.reassess_defect(by=by, defect=defect(), severity=severity, done_on=TODAY, **done)

    def service(last: date | None) -> Act:
        first = date(2025, 1, 6)
        return lambda: actions.change_service(by=by, car=car, in_service_from=first, in_service_to=last)

    return {
        "take in hand": lambda: actions.take_in_hand(by=by, defect=defect()),
        "judge less": judge("before_next_lesson"),
        "judge to be watched": judge("watch"),
        "judge dangerous": judge("dangerous"),
        "close": lambda: actions.close_defect(by=by, defect=defect(), closed_on=TODAY, **done),
        "reopen": lambda: actions.reopen_defect(by=by, defect=defect(), words="Still soft"),
        "confirm": lambda: actions.confirm_repair(by=by, step=latest_wait()),
        "deny": lambda: actions.deny_repair(by=by, step=latest_wait(), words="Still soft"),
        "void the check": lambda: actions.void_check(
            by=by, check=WalkaroundCheck.objects.filter(car=car).earliest("pk"), reason="Entered wrongly"
        ),
        "pass the MOT": lambda: actions.record_mot_pass(by=by, item=mot(), ref="pass", advised=[], done_on=TODAY),
        "change the mark": lambda: actions.correct_car(by=by, car=car, registration="QA99ZZZ"),
        "end its service": service(TODAY),
        "go on with its service": service(None),
    }


def walk(acts: dict[str, Act], check: Callable[[list[str]], None], *, depth: int, path: tuple[str, ...] = ()) -> int:
    """Take every path of ``depth`` acts, each from how the one before left the book; how many steps that was."""
    count = 0
    for name, act in acts.items():
        with transaction.atomic():
            try:
                with transaction.atomic():
                    act()
            except (ValidationError, DefectStep.DoesNotExist):
                transaction.set_rollback(True)
                continue
            count += 1
            check([*path, name])
            if depth > 1:
                count += walk(acts, check, depth=depth - 1, path=(*path, name))
            transaction.set_rollback(True)
    return count


@pytest.mark.parametrize("who", ["keeper", "coordinator who keeps it"])
def test_whoever_keeps_a_dangerous_car_never_brings_it_back_alone(colleague: Member, who: str) -> None:
    keeper = (MemberFactory if who == "keeper" else CoordinatorFactory).create()
    car = CarFactory.create(registration="QA51ABC", keeper=keeper, in_service_from=date(2025, 1, 6))
    found_dangerous(keeper, car)

    def check(path: list[str]) -> None:
        assert is_off_the_road(car), path
        assert Car.objects.get(pk=car.pk).registration == "QA51ABC", path

    assert walk(acts_of(keeper, car), check, depth=3) > 500


# --- Several members, any order ------------------------------------------------------------------------------

WHO = st.sampled_from(["keeper", "coordinator", "other"])
WHAT = st.sampled_from(
    ["take", "less", "watch", "dangerous", "close", "close with photo", "less with photo", "reopen", "confirm", "deny"]
)


class AnyOrder(TestCase):
    """Keeper, coordinator and another member act in any order on one danger."""

    @settings(max_examples=60)
    @given(acts=st.lists(st.tuples(WHO, WHAT), max_size=10))
    def test_a_danger_is_over_only_by_a_photo_or_by_a_second_member(self, acts: list[tuple[str, str]]) -> None:
        keeper, coordinator, other = MemberFactory.create(), CoordinatorFactory.create(), MemberFactory.create()
        members = {"keeper": keeper, "coordinator": coordinator, "other": other}
        car = CarFactory.create(keeper=keeper)
        defect = found_dangerous(keeper, car)
        is_over, told_by = False, None
        for who, what in acts:
            by = members[who]
            stood = Defect.objects.get(pk=defect.pk)
            if who == "other" and what not in ("confirm", "deny"):
                continue  # no page of theirs
            try:
                self.act(by, what)
            except (ValidationError, DefectStep.DoesNotExist):
                continue
            stands = Defect.objects.get(pk=defect.pk)
            if stands.state == "waiting" and what in ("close", "less", "watch"):
                told_by = told_by if stood.state == "waiting" and self.is_repeated(by) else by
            if stood.severity == "dangerous" and stood.state != "closed":
                with_photo = what in ("close with photo", "less with photo")
                is_over = with_photo or (what == "confirm" and stood.state == "waiting" and told_by != by)
            if stands.severity == "dangerous" and what in ("reopen", "deny", "dangerous", "take"):
                is_over = False
            assert is_off_the_road(car) == (stands.state != "closed" and stands.severity == "dangerous")
            assert is_over or is_off_the_road(car), acts
            last = defect.steps.latest("pk")
            assert (last.state, last.severity) == (stands.state, stands.severity)

    @staticmethod
    def is_repeated(by: Member) -> bool:
        return latest_wait().by == by

    @staticmethod
    def act(by: Member, what: str) -> None:
        defect = Defect.objects.get()
        done: dict[str, Any] = {"words": what, "done_by": "Wharf Lane Motors"}
        picture = b"jpeg" if what.endswith("photo") else None
        if what == "take":
            actions.take_in_hand(by=by, defect=defect)
        elif what.startswith("close"):
            actions.close_defect(by=by, defect=defect, closed_on=TODAY, picture=picture, **done)
        elif what == "reopen":
            actions.reopen_defect(by=by, defect=defect, words="Still soft")
        elif what == "confirm":
            actions.confirm_repair(by=by, step=latest_wait())
        elif what == "deny":
            actions.deny_repair(by=by, step=latest_wait(), words="Still soft")
        else:
            severity = what if what in ("watch", "dangerous") else "before_next_lesson"
            actions.reassess_defect(by=by, defect=defect, severity=severity, done_on=TODAY, picture=picture, **done)


# --- Through the pages ---------------------------------------------------------------------------------------


def pages_of(defect: Defect, check: WalkaroundCheck, mot: DueItem) -> dict[str, tuple[str, dict[str, str]]]:
    """Every page on which a keeper could try, with what is typed there."""
    done = {"words": "New seals", "done_by": "Wharf Lane", "closed_on": "2026-03-16", "done_on": "2026-03-16"}
    one, on_check = [defect.pk], [check.pk]
    wait = DefectStep.objects.filter(state="waiting").order_by("pk").last()
    secret = secret_of(wait) if wait else "0.none"
    return {
        "take": (reverse("fleet:defect-take-in-hand", args=one), {}),
        "watch": (reverse("fleet:defect-reassess", args=one), done | {"severity": "watch"}),
        "less": (reverse("fleet:defect-reassess", args=one), done | {"severity": "before_next_lesson"}),
        "close": (reverse("fleet:defect-close", args=one), done | {"cost_ref": str(uuid4())}),
        "reopen": (reverse("fleet:defect-reopen", args=one), {"words": "Still soft"}),
        "confirm": (reverse("fleet:defect-confirm", args=[secret]), {"answer": "yes"}),
        "void": (reverse("fleet:check-void", args=on_check), {"reason": "Wrong"}),
        "correct": (reverse("fleet:check-correct", args=on_check), {"checked_on": "2026-03-01", "points": "brakes"}),
        "pass": (
            reverse("fleet:due-item-complete", args=[mot.pk]),
            {"ref": str(uuid4()), "done_on": "2026-03-16", "odometer": "48000", "next_due_on": ""},
        ),
        "mark": (
            reverse("fleet:car-correct", args=["QA51ABC"]),
            {"registration": "QA99ZZZ", "fuel": "petrol", "transmission": "manual"},
        ),
    }


class AnyPages(TestCase):
    """The keeper opens pages in any order, and sends what they ask for except a photo."""

    @settings(max_examples=25)
    @given(order=st.lists(st.sampled_from(sorted(["take", "watch", "less", "close", "reopen", "confirm", "void",
                                                 "correct", "pass", "mark"])), min_size=2, max_size=7))  # fmt: skip
    def test_the_car_stays_off_the_road(self, order: list[str]) -> None:
        keeper = MemberFactory.create()
        car = CarFactory.create(registration="QA51ABC", keeper=keeper)
        defect = found_dangerous(keeper, car)
        check, mot = WalkaroundCheck.objects.get(), DueItem.objects.get()
        client = Client()
        client.force_login(keeper)
        for name in order:
            address, typed = pages_of(defect, check, mot)[name]
            assert client.get(address).status_code in (200, 302, 404)
            client.post(address, typed)
            assert is_off_the_road(car), order
            assert "Do not use this car for lessons" in client.get("/cars/QA51ABC/").content.decode(), order


def test_with_a_second_member_or_the_photo_the_pages_do_let_it_back(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    """So that the tests above cannot pass because nothing works at all."""
    defect = found_dangerous(keeper, car)
    check, mot = WalkaroundCheck.objects.get(), DueItem.objects.get()
    everyone["keeper"].post(*pages_of(defect, check, mot)["close"])
    assert is_off_the_road(car)
    everyone["colleague"].post(*pages_of(defect, check, mot)["confirm"])
    assert not is_off_the_road(car)
    everyone["keeper"].post(*pages_of(defect, check, mot)["reopen"])
    assert is_off_the_road(car)
    address, typed = pages_of(defect, check, mot)["close"]
    photo = SimpleUploadedFile("paper.jpg", picture_bytes(), "image/jpeg")
    everyone["keeper"].post(address, typed | {"picture": photo})
    assert not is_off_the_road(car)


# --- Nobody concerned is left untold -------------------------------------------------------------------------


def test_each_event_is_one_mail_to_each_who_is_concerned_but_whoever_did_it(
    car: Car, keeper: Member, coordinator: Member, colleague: Member
) -> None:
    CoordinatorFactory.create(email="another@book.example")
    everybody = {"keeper@book.example", "coordinator@book.example", "another@book.example"}
    mot = DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 30))

    def told(act: Act) -> list[str]:
        before = set(ReminderMail.objects.values_list("pk", flat=True))
        act()
        new = ReminderMail.objects.exclude(pk__in=before).filter(kind=MailKind.DEFECT)
        return sorted(new.values_list("recipient__email", flat=True))

    def but(member: Member) -> list[str]:
        return sorted(everybody - {member.email})

    failed = {"dangerous": ["Brake hose weeps", "Seat loose"], "before_next_lesson": ["Lamp out"], "watch": ["Chip"]}
    test: dict[str, Any] = {"by": keeper, "item": mot, "ref": "f", "tested_on": TODAY, "findings": failed}
    assert told(lambda: actions.record_mot_failure(**test)) == but(keeper)
    fault = [actions.PointFault("horn", "watch", "Faint"), actions.PointFault("brakes", "dangerous", "Soft")]
    fault.append(actions.PointFault("mirrors", "before_next_lesson", "Loose"))
    check: dict[str, Any] = {"by": coordinator, "car": car, "ref": "c", "checked_on": TODAY, "group": "inside"}
    assert told(lambda: actions.record_group(**check, faults=fault)) == but(coordinator)
    # Sent again with one more, that one is told too.
    fault.append(actions.PointFault("seats", "before_next_lesson", "Loose"))
    assert told(lambda: actions.record_group(**check, faults=fault)) == but(coordinator)
    hose = Defect.objects.get(description="Brake hose weeps")
    done: dict[str, Any] = {"closed_on": TODAY, "words": "New hose", "done_by": "Wharf Lane Motors"}
    assert told(lambda: actions.close_defect(by=keeper, defect=hose, **done)) == but(keeper)
    assert told(lambda: actions.deny_repair(by=colleague, step=latest_wait(), words="Weeps")) == sorted(everybody)
    assert told(lambda: actions.close_defect(by=coordinator, defect=hose, **done)) == but(coordinator)
    assert told(lambda: actions.confirm_repair(by=keeper, step=latest_wait())) == but(keeper)
    seat = Defect.objects.get(description="Seat loose")
    less: dict[str, Any] = {"severity": "watch", "words": "Bolted", "done_by": "Wharf Lane", "done_on": TODAY}
    assert told(lambda: actions.reassess_defect(by=keeper, defect=seat, picture=b"jpeg", **less)) == but(keeper)
    lamp = Defect.objects.get(description="Lamp out")
    assert told(lambda: actions.close_defect(by=keeper, defect=lamp, **done)) == but(keeper)
