"""Fourteen months of nights, both clock changes among them, with a real worker whose clock is moved.

The schedule is the book's own, offered by a beat that is often down and sometimes double; the mail server
refuses one day in six. What should have been told is worked out beside it, day by day, from nothing but the
rules: steps at 30, 14, 7, 1 and 0 days, for a registration at 120 too, then daily or weekly; a booking quiets the days
before.
"""

import random
import time
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from email.message import EmailMessage
from email.utils import parsedate_to_datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
import redis
import time_machine

from config.celery import WATCHED, app
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import DueItem, MailState, Notice, ReminderMail
from instructors.models import Member
from tests import run
from tests.factories import CarFactory, CoordinatorFactory, DueItemFactory, MemberFactory, put_in_order
from tests.faults.moments import DONE, MOMENT, SENT
from tests.faults.story import CAR_LEAVES, DAILY, FIRST, LAST, MEMBER_LEAVES, Planned, Story
from tests.fleet.reminding import text_of
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.servers import Redis

pytestmark = [
    pytest.mark.django_db(transaction=True),
    # The embedded default has no worker: fourteen months of one are lived through where one runs.
    pytest.mark.skipif(not run.on_postgresql(), reason="a worker and its broker stand beside PostgreSQL"),
]

LONDON = ZoneInfo("Europe/London")
CO_OPS_HOUR = 7
NEVER_OFF = DAILY | {"adi_registration", "driving_licence"}

#: A lapsed registration is told daily too, though it stops no car.
TOLD_DAILY = DAILY | {"adi_registration"}

#: Of which car, or which member, and kind; of which day; the step; and to whom.
Key = tuple[tuple[int | None, int | None, str], str, int, str]
Told = dict[Key, date]


@pytest.fixture
def members() -> list[Member]:
    """With the co-op's hour and with their own, two who want to hear no more than they must, one who will leave."""
    return [
        MemberFactory.create(name="Usual"),
        MemberFactory.create(name="Late", reminder_hour=18),
        MemberFactory.create(name="Early", reminder_hour=4, wants_due_mail=False),
        MemberFactory.create(name="Leaver"),
        CoordinatorFactory.create(name="Coordinator", reminder_hour=20, wants_due_mail=False),
    ]


@pytest.fixture
def items(members: list[Member]) -> list[Planned]:
    cars = [CarFactory.create(registration=f"QA5{number}ABC", keeper=keeper) for number, keeper in enumerate(members)]
    cars.append(CarFactory.create(registration="QB52SLD", keeper=members[0]))
    kinds = ["mot insurance vehicle_tax dual_controls other", "mot insurance breakdown_cover service", "mot tyres"]
    kinds += ["mot service", "insurance service", "mot service"]
    made = [
        DueItemFactory.create(car=car, kind=kind, due_on=FIRST)
        for car, some in zip(cars, kinds, strict=True)
        for kind in some.split()
    ]
    made += [
        DueItemFactory.create(car=None, member=member, kind=kind, due_on=FIRST)
        for member in members[:4]
        for kind in ("adi_registration", "driving_licence")
    ]
    for car in cars:
        put_in_order(car)
    return [
        Planned(
            item.pk,
            (item.car_id, item.member_id, item.kind),
            item.kind,
            item.car.keeper if item.car else item.member,
            FIRST,
            ends_on=_last_day_of(item),
        )
        for item in made
    ]


def _last_day_of(item: DueItem) -> date:
    if item.car is None:
        return MEMBER_LEAVES if item.member.name == "Leaver" else LAST
    return CAR_LEAVES if item.car.registration == "QB52SLD" else LAST


def step_on(days_left: int, kind: str, is_booked: bool) -> int | None:
    if days_left > 0 and is_booked:
        return None
    if days_left >= 0:
        before = (0, 1, 7, 14, 30, 120) if kind == "adi_registration" else (0, 1, 7, 14, 30)
        return next((step for step in before if days_left <= step), None)
    if kind in TOLD_DAILY and not is_booked:
        return days_left
    return -(-days_left // 7 * 7) or (-1 if is_booked else 0)


def should_tell(items: list[Planned], day: date, member: Member) -> Iterator[Key]:
    """What holds for a member on a day, told before or not."""
    if member.name == "Leaver" and day > MEMBER_LEAVES:
        return
    for item in items:
        is_booked = item.booked_for is not None and item.booked_for >= day
        step = step_on((item.due_on - day).days, item.kind, is_booked)
        if step is None or day > item.ends_on:
            continue
        is_told_own = item.keeper == member and (member.wants_due_mail or item.kind in NEVER_OFF)
        if is_told_own or (item.keeper != member and member.is_coordinator and step <= 7):
            yield item.of, item.due_on.isoformat(), step, member.email


class Beat:
    """Sends what the book's schedule has for a moment, and waits until the worker has done all of it."""

    def __init__(self, board: redis.Redis, worker: BookProcess) -> None:
        self.board, self.worker = board, worker

    def tick(self, moment: datetime, times: int = 1) -> None:
        due = [
            entry["task"]
            for entry in app.conf.beat_schedule.values()
            if moment.hour in entry["schedule"].hour and moment.minute in entry["schedule"].minute
        ]
        self.send(moment, [*due, *WATCHED] * times)

    def send(self, moment: datetime, tasks: list[str]) -> None:
        self.board.set(MOMENT, moment.isoformat())
        for task in tasks:
            self.board.incr(SENT)
            app.send_task(task)
        give_up_at = time.perf_counter() + 120
        while self.board.mget(SENT, DONE) not in ([None, None], [count := self.board.get(SENT), count]):
            assert time.perf_counter() < give_up_at, self.worker.output()[-3000:]
            time.sleep(0.002)


def live_through(story: Story, members: list[Member], beat: Beat, server: MailServer, chance: random.Random) -> Told:
    """Let the months pass; what should have been told, and the day on which it should first have been."""
    expected: Told = {}
    day = FIRST
    with time_machine.travel(datetime(FIRST.year, FIRST.month, FIRST.day, tzinfo=LONDON), tick=False) as clock:
        while day <= LAST:
            night = datetime(day.year, day.month, day.day, tzinfo=LONDON)
            clock.move_to(night.replace(hour=2))
            story.live(day)
            server.refusing = chance.random() < 1 / 6
            if chance.random() < 0.15:  # brought back by a broker that was down at midnight
                beat.send(night.replace(hour=1, minute=30), ["fleet.tasks.remind_today", "fleet.tasks.retry_mail"])
            is_down = chance.random() < 0.08
            hours = [hour for hour in range(24) if not is_down and chance.random() < 0.07]
            for hour in hours:
                beat.tick(night.replace(hour=hour), times=chance.choice([1, 1, 1, 2]))
            for member in members if not server.refusing else []:
                if hours and max(hours) >= (member.reminder_hour or CO_OPS_HOUR):
                    for told in should_tell(story.items, day, member):
                        expected.setdefault(told, day)
            day += timedelta(days=1)
    return expected


def _sent_at(message: EmailMessage) -> datetime:
    return parsedate_to_datetime(message["Date"]).replace(tzinfo=UTC).astimezone(LONDON)


def own_titles(message: EmailMessage) -> list[str]:
    """What a mail says of the recipient's own."""
    lines = text_of(message).splitlines()
    of_others = next((number for number, line in enumerate(lines) if line.startswith("Everything")), len(lines))
    # A car that is off the road is named at the head too, without the lines that an item of its own has.
    return sorted(
        line.removeprefix("* ").rpartition(": ")[2]
        for line, below in pairwise(lines[:of_others])
        if line.startswith("* ") and below.startswith(("  Due", "  Booked"))
    )


def test_fourteen_months_of_nights_tell_everything_once(
    members: list[Member],
    items: list[Planned],
    smtp_server: MailServer,
    redis_server: Redis,
    celery_worker_process: Callable[..., BookProcess],
) -> None:
    chance = random.Random(20260201)  # noqa: S311 - the same chances every time
    with redis_server.client() as board:
        beat = Beat(board, celery_worker_process(app="tests.faults.travelling"))
        expected = live_through(Story(items, chance), members, beat, smtp_server, chance)
    sent = ReminderMail.objects.filter(state=MailState.SENT).select_related("recipient")
    notices = Notice.objects.filter(mail__in=sent).select_related("mail", "recipient", "car")
    told = {((n.car_id, n.member_id, n.kind), n.occurrence, n.step, n.recipient.email): n.mail.day for n in notices}
    assert told == expected
    assert {key[2] for key in told} >= {30, 14, 7, 1, 0, -1, -7, -14}

    assert Counter(message["Message-ID"] for message in smtp_server.messages) == {
        f"<{mail.message_id}@localhost>": 1 for mail in sent
    }
    assert smtp_server.refused_count > 0
    hours = {member.email: member.reminder_hour or CO_OPS_HOUR for member in members}
    moments = [(message["To"], _sent_at(message)) for message in smtp_server.messages]
    assert max(Counter((to, moment.date()) for to, moment in moments).values()) == 1
    assert [one for one in moments if one[1].hour < hours[one[0]]] == []

    own = {f"<{mail.message_id}@localhost>": list[str]() for mail in sent}
    for notice in notices:
        if notice.recipient_id == (notice.car.keeper_id if notice.car else notice.member_id):
            own[f"<{notice.mail.message_id}@localhost>"].append(DUE_KINDS[notice.kind].words)
    assert {message["Message-ID"]: own_titles(message) for message in smtp_server.messages} == {
        message_id: sorted(titles) for message_id, titles in own.items()
    }
    assert "raised unexpected" not in beat.worker.output()
