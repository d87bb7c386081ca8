"""The whole made-up co-op: who there is, what each of them has, and the browser in which each is signed in."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any
from uuid import UUID

from allauth.account.internal.flows.login import record_authentication
from allauth.usersessions.models import UserSession
from django.http import HttpRequest
from django.test import Client

from fleet.models import Car
from fleet.reminders.nudges import off_address
from instructors.models import Invitation, Member, Role
from instructors.queries import token_digest
from tests.conftest import TODAY
from tests.factories import (
    ActFactory,
    CalendarFeedFactory,
    CarFactory,
    CheckPointFactory,
    CompletionFactory,
    DueItemFactory,
    GroupFigureFactory,
    InvitationFactory,
    KeeperTimeFactory,
    MemberFactory,
    NoticeFactory,
    ReminderMailFactory,
    ReminderRunFactory,
)
from tests.matrix.canaries import Canaries
from tests.matrix.factors import add_app, add_passkey
from tests.matrix.maker import Maker
from tests.matrix.money import add_money
from tests.matrix.roles import (
    ANONYMOUS,
    COLLEAGUE,
    COORDINATOR,
    COORDINATOR_WITH_CAR,
    COORDINATORS,
    EVERYBODY,
    FORMER_KEEPER,
    FORMER_MEMBER,
    INVITED,
    KEEPER,
    LOG,
    NEW_KEEPER,
    STRANGER,
    WITH_APP,
)
from tests.matrix.upkeep import add_upkeep

PASSWORD = "three words and a 9"  # noqa: S105 - of everybody here
YESTERDAY = TODAY - timedelta(days=1)
#: Ids that nothing has.
NO_ID, NO_MARK, NO_TOKEN = 999_983, "QZ99ZZZ", "never-was"


@dataclass
class World:
    """``now`` is the keeper's with the car they keep, ``before`` theirs with one that the new keeper has today.

    ``nothing`` has the same names and leads nowhere.
    """

    canaries: Canaries = field(default_factory=Canaries)
    members: dict[str, Member] = field(default_factory=dict)
    sessions: dict[str, str] = field(default_factory=dict)
    records: dict[str, SimpleNamespace] = field(default_factory=dict)
    nothing: SimpleNamespace = field(default_factory=SimpleNamespace)
    #: The keeper's money before anybody asks, and the last act in any record.
    untouched: dict[str, list[tuple[object, ...]]] = field(default_factory=dict)
    last_act: int = 0

    @property
    def now(self) -> SimpleNamespace:
        return self.records[KEEPER]

    @property
    def before(self) -> SimpleNamespace:
        return self.records["before"]


def build() -> World:
    """Make it all, as of the frozen today."""
    world = World()
    for role in EVERYBODY:
        if role != ANONYMOUS:
            _join(world, role)
    _give_cars(world)
    for its in world.records.values():
        _add_own(world, its)
        its.has_money = {other.role for other in world.records.values() if other.car == its.car}
    _add_of_the_coop(world)
    _sign_in(world)
    for its in world.records.values():
        _add_ways_in(world, its)
    world.nothing = _nothing(world)
    return world


def _join(world: World, role: str) -> None:
    # Whoever has the same car, before or after, reads there who did what to it.
    of_one_car = {KEEPER, NEW_KEEPER, FORMER_KEEPER}
    open_to = {role, *COORDINATORS} | (of_one_car if role in of_one_car else set())
    if role in COORDINATORS:
        # Mails and records say who they are.
        open_to |= {INVITED, *EVERYBODY} - {ANONYMOUS}
    word = role.replace(" ", "-")
    world.members[role] = MemberFactory.create(
        email=world.canaries.secret(f"{role}'s address", f"canary-{word}@book.example", role, *COORDINATORS),
        name=world.canaries.words(f"name of {role}", *open_to),
        role=Role.COORDINATOR if role in COORDINATORS else Role.MEMBER,
        password=PASSWORD,
    )
    world.canaries.secret(f"{role}'s password", world.members[role].password)


#: The day on which a car with a former keeper was handed on.
HANDED_ON = date(2025, 6, 20)


def _give_cars(world: World) -> None:
    """A car with a former keeper, one that was handed on, and one each of two others."""
    first_car = _car(world, "QA51NOW", KEEPER, FORMER_KEEPER)
    second_car = _car(world, "QA52OLD", NEW_KEEPER, KEEPER)
    both, of_second = frozenset({KEEPER, FORMER_KEEPER}), frozenset({KEEPER, NEW_KEEPER})
    _records(world, KEEPER, KEEPER, first_car, HANDED_ON + timedelta(days=1), TODAY, 40_000, frozenset({KEEPER}))
    _records(world, FORMER_KEEPER, FORMER_KEEPER, first_car, date(2024, 1, 8), HANDED_ON, 20_000, both)
    _records(
        world, NEW_KEEPER, NEW_KEEPER, second_car, HANDED_ON + timedelta(days=1), TODAY, 80_000, frozenset({NEW_KEEPER})
    )
    _records(world, "before", KEEPER, second_car, date(2024, 1, 8), HANDED_ON, 60_000, of_second)
    for role, mark, miles in ((COLLEAGUE, "QA53COL", 100_000), (COORDINATOR_WITH_CAR, "QA54CRD", 120_000)):
        car = _car(world, mark, role)
        _records(world, role, role, car, date(2025, 6, 23), TODAY, miles, frozenset({role}))


def _car(world: World, mark: str, keeper: str, *others: str) -> Car:
    open_to = (LOG, keeper, *others, *COORDINATORS)
    registration = world.canaries.secret(f"{keeper}'s mark", mark, *open_to, also=f"{mark[:4]} {mark[4:]}")
    car = CarFactory.create(
        registration=registration,
        keeper=world.members[keeper],
        description=world.canaries.words(f"description of {mark}", keeper, *others, *COORDINATORS),
    )
    for former in others:
        KeeperTimeFactory.create(car=car, keeper=world.members[former], to_on=HANDED_ON)
        KeeperTimeFactory.create(car=car, from_on=HANDED_ON + timedelta(days=1))
    return car


def _records(
    world: World, name: str, role: str, car: Car, first: date, last: date, miles: int, keepers: frozenset[str]
) -> None:
    maker = Maker(world.canaries, role, world.members[role], car, first, last, miles, keepers)
    its = SimpleNamespace(role=role, member=maker.member, car=car)
    add_money(its, maker)
    add_upkeep(its, maker)
    its.keeper = next(each for each, member in world.members.items() if member == car.keeper)
    world.records[name] = its


def _add_own(world: World, its: SimpleNamespace) -> None:
    """What concerns the member and no car: a credential, a calendar feed, a mail that could not be sent."""
    role, canaries = its.role, world.canaries
    if its is world.before:
        for name in ("credential", "renewal", "feed", "feed_token", "log_mail_token"):
            setattr(its, name, getattr(world.now, name))
        return
    registered_until = TODAY + timedelta(days=400 + EVERYBODY.index(role))
    its.credential = DueItemFactory.create(
        car=None,
        member=its.member,
        kind="adi_registration",
        due_on=canaries.day(f"{role}'s registration", registered_until, role, *COORDINATORS),
        note=canaries.words(f"{role}'s registration, note", role, *COORDINATORS),
    )
    note = canaries.words(f"{role}'s renewal, note", role, *COORDINATORS)
    its.renewal = CompletionFactory.create(due_item=its.credential, done_on=TODAY - timedelta(days=400), note=note)
    its.feed_token = canaries.secret(f"{role}'s feed", f"feed-of-{role.replace(' ', '-')}")
    its.log_mail_token = off_address(its.member).rstrip("/").rpartition("/")[2]
    its.feed = CalendarFeedFactory.create(member=its.member, token_digest=token_digest(its.feed_token))
    ActFactory.create(
        concerns=its.member,
        by=world.members[COORDINATOR],
        about=its.car.registration,
        was=canaries.words(f"{role}'s record, as it was", role),
        now=canaries.words(f"{role}'s record, as it is", role),
        told_at="2026-03-10T09:01Z",
        mail__state="sent",
    )
    refused = canaries.words(f"{role}'s mail, as refused", *COORDINATORS)
    mail = ReminderMailFactory.create(recipient=its.member, last_error=refused)
    NoticeFactory.create(car=its.car, recipient=its.member, mail=mail)


def _add_of_the_coop(world: World) -> None:
    """What is nobody's own: points of the check, runs, January as it was closed, and invitations."""
    coordinator = world.members[COORDINATOR]
    point = CheckPointFactory.create(added_by=coordinator)
    ReminderRunFactory.create()
    for span in ("month", "year"):
        GroupFigureFactory.create(month=date(2026, 1, 1), span=span)
    invitations = {
        state: _invitation(world, state, **fields)
        for state, fields in {
            "open": {},
            "expired": {"expires_at": "2026-03-01T09:00Z"},
            "withdrawn": {"withdrawn_at": "2026-03-11T09:00Z"},
            "accepted": {"accepted_at": "2026-03-11T09:00Z"},
        }.items()
    }
    other = world.members[STRANGER]
    for its in world.records.values():
        its.point, its.invitations, its.other = point, invitations, other
        its.invitation, its.invitation_token = invitations["open"], "invitation-open"


def _invitation(world: World, state: str, **fields: str) -> Invitation:
    # Whoever holds the link reads for whom it is: see the row of its address.
    token = world.canaries.secret(f"{state} invitation's link", f"invitation-{state}")
    open_to = (INVITED, *COORDINATORS)
    email = f"canary-invited-{state}@book.example"
    return InvitationFactory.create(
        invited_by=world.members[COORDINATOR],
        email=world.canaries.secret(f"{state} invitation, address", email, *open_to),
        name=world.canaries.words(f"{state} invitation, name", *open_to),
        token_digest=token_digest(token),
        **fields,
    )


def _nothing(world: World) -> SimpleNamespace:
    """An id, mark or secret that nothing has, for each thing that the keeper has."""
    none: dict[str, Any] = {}
    for name, value in vars(world.now).items():
        none[name] = SimpleNamespace(pk=NO_ID) if hasattr(value, "pk") else NO_TOKEN
    none["car"] = SimpleNamespace(pk=NO_ID, registration=NO_MARK)
    none["paper"] = none["picture"] = none["receipt"] = none["week"] = none["statement"] = SimpleNamespace(
        pk=UUID(int=0)
    )
    return SimpleNamespace(**none)


def _sign_in(world: World) -> None:
    """A session each; the former member's was opened before they left, yesterday."""
    for role, member in world.members.items():
        world.sessions[role] = _session(world, role, member, "session")
    Member.objects.filter(pk=world.members[FORMER_MEMBER].pk).update(left_on=YESTERDAY)


def _add_ways_in(world: World, its: SimpleNamespace) -> None:
    """Another browser in which the member is signed in, and what they sign in with besides the password."""
    role = its.role
    if its is world.before:
        its.session, its.passkey = world.now.session, world.now.passkey
        return
    key = _session(world, role, its.member, "other session")
    its.session = UserSession.objects.get(session_key=key)
    its.passkey = add_passkey(world.canaries, role, its.member)
    if role in WITH_APP:
        add_app(world.canaries, role, its.member)


def _session(world: World, role: str, member: Member, what: str) -> str:
    """The key of a session in which the member has just shown by password that it is them."""
    client = Client()
    client.force_login(member)
    request = HttpRequest()
    request.session, request.user = client.session, member
    record_authentication(request, member, method="password", email=member.email)
    request.session.save()
    key = world.canaries.secret(f"{role}'s {what}", str(request.session.session_key))
    UserSession.objects.create(
        user=member,
        session_key=key,
        ip="192.0.2.7",
        user_agent=world.canaries.words(f"browser of {role}'s {what}", role),
    )
    return key
