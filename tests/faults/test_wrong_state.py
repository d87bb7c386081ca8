"""Every form sent twice, empty and filled in, to things in every state: the answer is calm, and never an error."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.utils import timezone

from fleet.models import Car
from instructors.models import Member
from tests.addresses import filled_in, routes, start_of, taken
from tests.costing.offered import pcp_and_rental
from tests.factories import (
    AgreementFactory,
    CalendarFeedFactory,
    CheckPointFactory,
    CostEntryFactory,
    DefectFactory,
    DefectStepFactory,
    DueItemFactory,
    FillFactory,
    InvitationFactory,
    MemberFactory,
    PhotoFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

States = dict[str, list[Any]]


@pytest.fixture
def states(car: Car, keeper: Member, coordinator: Member) -> States:
    """By how an address begins, the numbers of things in each state that they can be in."""
    today, now = timezone.localdate(), timezone.now()
    closed = DefectFactory(car=car, state="closed", closed_on=today)
    DefectStepFactory(defect=closed, state="closed", happened_on=today, words="A new bulb")
    in_hand = DefectFactory(car=car, state="in_hand", severity="dangerous")
    DefectStepFactory(defect=in_hand, state="in_hand", severity="dangerous", happened_on=today)
    untouched, taken = pcp_and_rental(keeper), pcp_and_rental(keeper)
    begun = taken.offers.first()
    begun.car, begun.chosen_on = car, today
    begun.save()
    entries = [
        factory(car=car, member=keeper, voided_at=voided_at)
        for factory in (FillFactory, CostEntryFactory, TeachingRecordFactory)
        for voided_at in (None, now)
    ]
    invitations = [
        InvitationFactory(invited_by=coordinator, email=f"{state}@book.example", **{state: now})
        for state in ("created_at", "accepted_at", "withdrawn_at", "expires_at")
    ]
    return {
        "cars/<str:mark>/agreement/": [AgreementFactory(car=car).pk],
        "cars/<str:mark>/valuation/": [ValuationFactory(car=car).pk],
        "entries/": [entry.pk for entry in entries],
        "next-car/": [untouched.pk, taken.pk],
        "next-car/offers/": [untouched.offers.first().pk, begun.pk, taken.offers.last().pk],
        "defects/": [DefectFactory(car=car).pk, in_hand.pk, closed.pk],
        "due/": [
            DueItemFactory(car=car, kind="mot", due_on=today).pk,
            DueItemFactory(car=car, kind="service", due_on=today, booked_for=today).pk,
            DueItemFactory(car=car, kind="other", note="Roof sign", due_on=None).pk,
            DueItemFactory(car=car, kind="tyres", due_on=today, closed_on=today).pk,
            DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=today).pk,
        ],
        "check-points/": [CheckPointFactory(name="horn-2").pk, CheckPointFactory(name="old", retired_on=today).pk],
        "me/calendar/": [
            CalendarFeedFactory(member=keeper, token_digest="a" * 64).pk,
            CalendarFeedFactory(member=keeper, token_digest="b" * 64, revoked_at=now).pk,
        ],
        "photos/": [PhotoFactory(car=car, image=ContentFile(b"a picture", "brake.jpg")).pk],
        "people/": [keeper.pk, coordinator.pk, MemberFactory(left_on=today - timedelta(days=9)).pk],
        "people/invitations/": [invitation.pk for invitation in invitations],
    }


def addresses(states: States) -> Iterator[str]:
    """Every address, with each of the things that it may be of."""
    for route, _ in routes():
        for kind in ("fill", "cost", "lessons") if "kind>" in route else ("",):
            for number in states.get(start_of(route, states), [1]):
                words = {"mark": "QA51ABC", "pk": number, "kind": kind, "step": "money", "name": "teach"}
                words |= {"ref": "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11", "group": "inside"}
                yield filled_in(route, words)


def typed() -> dict[str, str]:
    """What some form or other takes; each reads what it asks for."""
    today = timezone.localdate().isoformat()
    return {
        "description": "Brake light out",
        "words": "New bulb",
        "severity": "watch",
        "closed_on": today,
        "found_on": today,
        "done_on": today,
        "booked_for": today,
        "due_on": today,
        "next_due_on": (timezone.localdate() + timedelta(days=365)).isoformat(),
        "tested_on": today,
        "dangerous": "Brake hose",
        "reason": "typed twice",
        "name": "horn",
        "scope": "own",
        "left_on": today,
        "ref": "6e8c1d2e-1111-4222-8333-444455556666",
    }


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
@pytest.mark.parametrize("sent", ["nothing", "something", "taken back"])
def test_a_form_sent_twice_and_in_every_state_gets_an_answer(
    who: str, sent: str, everyone: dict[str, Client], states: States, smtp_server: Any
) -> None:
    client, failed, answered = everyone[who], set(), 0
    client.raise_request_exception = False
    fields = {} if sent == "nothing" else typed()
    fields |= {"clear": "1", "back": "1"} if sent == "taken back" else {}
    for address in addresses(states):
        if address.startswith(("/account/", "/repairs/")):
            continue  # the first would sign out whoever sends it
        for _ in range(2):
            answer = client.post(address, fields)
            status = answer.status_code
            taken(answer)
            answered += status in {200, 302, 303}
            if status >= 500 and not address.startswith("/health"):
                failed.add(f"{address}: {status}")
    assert not failed
    assert answered > 40
