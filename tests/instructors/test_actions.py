"""What the pages cannot show: refusals behind them, and two people acting at the same moment."""

import threading
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import connection, transaction

from instructors import actions
from instructors.models import Invitation, Member, Role
from tests.factories import CoordinatorFactory, InvitationFactory, MemberFactory


def at_once(*calls: Callable[[], Any]) -> list[Exception | None]:
    """What each call raised when all of them started together, each with its own connection."""
    start, raised = threading.Barrier(len(calls)), [None] * len(calls)

    def run(number: int, call: Callable[[], Any]) -> None:
        start.wait()
        try:
            call()
        except Exception as error:
            raised[number] = error  # type: ignore[call-overload]
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return raised  # type: ignore[return-value]


def step_down(member: Member) -> Callable[[], Any]:
    return lambda: actions.change_member(
        by=member, member=member, name=member.name, role=Role.MEMBER, grade=member.grade, joined_on=None
    )


def test_of_two_coordinators_who_step_down_at_once_one_stays(transactional_db: None) -> None:
    first, second = CoordinatorFactory.create_batch(2)
    raised = at_once(step_down(first), step_down(second))
    assert sorted(type(error).__name__ for error in raised) == ["NoneType", "ValidationError"]
    assert Member.objects.filter(role=Role.COORDINATOR).count() == 1


def test_one_who_leaves_while_the_other_steps_down_keeps_one_coordinator(transactional_db: None) -> None:
    first, second = CoordinatorFactory.create_batch(2)
    raised = at_once(
        step_down(first),
        lambda: actions.record_leaving(by=second, member=second, left_on=date(2026, 3, 16)),
    )
    assert sorted(type(error).__name__ for error in raised) == ["NoneType", "ValidationError"]
    assert Member.objects.filter(role=Role.COORDINATOR, left_on__isnull=True).count() == 1


def test_a_link_opened_twice_at_once_makes_one_member(transactional_db: None) -> None:
    invitation = InvitationFactory(email="new@book.example", expires_at="2999-01-01T09:00Z")

    def accept() -> None:
        mine = Invitation.objects.get(pk=invitation.pk)
        actions.accept_invitation(invitation=mine, name="New", password="seven wet kerbstones")  # noqa: S106

    raised = at_once(accept, accept)
    assert sorted(type(error).__name__ for error in raised) == ["NoneType", "ValidationError"]
    assert Member.objects.filter(email="new@book.example").count() == 1


def test_an_address_invited_twice_at_once_has_one_invitation(transactional_db: None) -> None:
    first, second = CoordinatorFactory.create_batch(2)

    def invite(by: Member, email: str) -> Callable[[], Any]:
        return lambda: actions.invite_member(by=by, email=email, name="New", role="member", grade="ADI")

    raised = at_once(invite(first, "New@book.example"), invite(second, "new@Book.example"))
    assert sorted(type(error).__name__ for error in raised) == ["NoneType", "ValidationError"]
    assert Invitation.objects.count() == 1


def test_no_link_is_made_inside_a_transaction_that_may_yet_fail(transactional_db: None) -> None:
    invitation = InvitationFactory()
    with pytest.raises(RuntimeError), transaction.atomic():
        actions.send_invitation(by=invitation.invited_by, invitation=invitation)


def test_a_link_replaced_meanwhile_is_not_accepted(db: None) -> None:
    invitation = InvitationFactory(expires_at="2999-01-01T09:00Z")
    opened = Invitation.objects.get(pk=invitation.pk)
    actions.renew_link(by=invitation.invited_by, invitation=invitation)
    with pytest.raises(ValidationError, match="This link no longer works"):
        actions.accept_invitation(invitation=opened, name="New", password="seven wet kerbstones")  # noqa: S106


def test_every_link_is_another_and_long_enough_not_to_be_guessed(db: None) -> None:
    invitation = InvitationFactory()
    links = {actions.renew_link(by=invitation.invited_by, invitation=invitation) for _ in range(20)}
    assert len(links) == 20
    assert min(map(len, links)) >= 43  # 32 random bytes


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("invite_member", {"email": "a@book.example", "name": "A", "role": "member", "grade": "ADI"}),
        ("renew_link", {"invitation": None}),
        ("send_invitation", {"invitation": None}),
        ("withdraw_invitation", {"invitation": None}),
        ("change_member", {"member": None, "name": "A", "role": "member", "grade": "ADI", "joined_on": None}),
        ("record_leaving", {"member": None, "left_on": date(2026, 3, 16)}),
        ("record_return", {"member": None}),
    ],
)
def test_no_action_is_open_to_a_member_without_the_role(keeper: Member, name: str, arguments: dict[str, Any]) -> None:
    with pytest.raises(PermissionDenied):
        getattr(actions, name)(by=keeper, **arguments)


def test_a_member_without_the_role_does_not_change_the_settings(keeper: Member) -> None:
    with pytest.raises(PermissionDenied):
        actions.change_settings(
            by=keeper,
            name="A",
            nation="GB",
            minimum_contributors=5,
            closing_day=10,
            rounding=20,
            depreciation_rate=0,  # type: ignore[arg-type]
            reminder_hour=7,
            tyre_life_miles=1,
            coordinators_need_second_factor=False,
            rent_or_own_is_open=True,
        )


def test_an_invited_address_is_kept_in_small_letters_without_spaces(coordinator: Member) -> None:
    invitation = actions.invite_member(
        by=coordinator, email="  New.Instructor@Book.Example ", name="N", role="member", grade="ADI"
    )
    assert invitation.email == "new.instructor@book.example"


def test_what_a_member_logged_is_untouched_by_leaving(coordinator: Member) -> None:
    member = MemberFactory()
    before = Member.objects.filter(pk=member.pk).values().get()
    actions.record_leaving(by=coordinator, member=member, left_on=date(2026, 3, 16))
    actions.record_return(by=coordinator, member=member)
    assert Member.objects.filter(pk=member.pk).values().get() == before
