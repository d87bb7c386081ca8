"""Every row of the catalogue of due kinds, through all that a due item comes through: a half-added kind fails here."""

import html
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import icalendar
import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.archive.tables import TABLES
from costing.models import CostEntry
from fleet.actions import add_due_item, open_feed
from fleet.core.due_kinds import DUE_KINDS, DueKind
from fleet.core.findings import readiness
from fleet.core.requirements import LISTS
from fleet.models import Car, Completion, DueItem, FeedScope, Notice
from fleet.queries import due_report, facts_of
from fleet.reminders import plan_reminders
from fleet.reminders.letters.parts import item_of_line
from instructors.models import Cooperative, Grade, Member
from tests.costing.archive_sample import zipped
from tests.factories import CarFactory, CompletionFactory, ConfirmationFactory, CooperativeFactory, DueItemFactory
from tests.fleet.reminding import TODAY, in_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

EACH_KIND = pytest.mark.parametrize("kind", DUE_KINDS.values(), ids=lambda kind: kind.name)
NOTE = "As on the paper"
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Case:
    """A kind, and the car or the member of whom it is tried."""

    kind: DueKind
    member: Member
    car: Car | None

    @property
    def subject(self) -> dict[str, Any]:
        return {"car": self.car, "member": None if self.car else self.member}

    @property
    def title(self) -> str:
        return NOTE if self.kind.named_by_note else self.kind.words

    @property
    def home(self) -> str:
        return reverse("fleet:car", args=[self.car.registration]) if self.car else reverse("fleet:profile")

    @property
    def add(self) -> str:
        name, args = ("due-item-add", [self.car.registration]) if self.car else ("credential-add", [])
        return reverse(f"fleet:{name}", args=args)

    def item(self, due_on: date, **fields: Any) -> DueItem:
        return DueItemFactory.create(kind=self.kind.name, due_on=due_on, note=NOTE, **self.subject | fields)

    def typed(self, **fields: str) -> dict[str, str]:
        """What a form of its kind sends."""
        return {"note": NOTE} | ({"tuition": "yes"} if self.kind.confirms_tuition else {}) | fields


@pytest.fixture(
    params=[
        (kind, whose) for kind in DUE_KINDS.values() for whose in ("car", "member") if kind.of in (whose, "either")
    ],
    ids=lambda param: f"{param[0].name} of a {param[1]}",
)
def case(request: pytest.FixtureRequest, keeper: Member) -> Case:
    kind, whose = request.param
    CooperativeFactory.create()
    return Case(kind, keeper, CarFactory.create(registration="QA51ABC", keeper=keeper) if whose == "car" else None)


def body(client: Client, path: str) -> str:
    response = client.get(path)
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def whats_due(case: Case, on: date) -> tuple[str, list[str]]:
    """How the item stands by the command, and what keeps the car off the road."""
    out = StringIO()
    call_command("whats_due", "--json", "--on", on.isoformat(), stdout=out)
    report = json.loads(out.getvalue())
    [one] = report["cars" if case.car else "members"]
    [state] = [item["state"] for item in one["items"] if item["kind"] == case.kind.name]
    return state, one.get("reasons", [])


def test_only_the_catalogue_spells_a_kind() -> None:
    in_code = re.compile(rf"""["']({"|".join(DUE_KINDS)})["']""")
    spelled = {*DUE_KINDS, *(kind.words for kind in DUE_KINDS.values())}
    in_templates = re.compile(rf"""[!=]= ?["']({"|".join(spelled)})["']""")
    modules = {path for path in (ROOT / "fleet").rglob("*.py") if "migrations" not in path.parts}
    spelling = {path.relative_to(ROOT).as_posix() for path in modules if in_code.search(path.read_text())}
    assert spelling == {
        "fleet/core/due_kinds.py",
        "fleet/core/requirements.py",  # whether the car has dual controls
        "fleet/forms/cars.py",  # the same
        "fleet/models/condition.py",  # who found a defect
        "fleet/views/tread.py",  # the tyres of a page
    }
    assert not [path for path in (ROOT / "templates").rglob("*.*") if in_templates.search(path.read_text())]


# --- Pages -----------------------------------------------------------------------------------------------


def test_it_is_entered_corrected_booked_and_listed(case: Case, client_of: Callable[..., Client]) -> None:
    client = client_of(case.member)
    assert f'?kind={case.kind.name}"' in body(client, case.add)
    path = f"{case.add}?kind={case.kind.name}"
    assert (case.kind.last_day.label if case.kind.last_day else "Due on") in body(client, path)
    assert client.post(path, case.typed(due_on="2026-10-03")).status_code == 303
    item = DueItem.objects.get(kind=case.kind.name)
    assert (item.due_on, item.car, item.title) == (date(2026, 10, 3), case.car, case.title)
    assert case.title in body(client, case.home)
    assert case.kind.source in body(client, case.home)
    correct = reverse("fleet:due-item-correct", args=[item.pk])
    assert case.kind.done_words in body(client, correct)
    assert client.post(correct, case.typed(due_on="2026-11-04")).status_code == 303
    book = reverse("fleet:due-item-book", args=[item.pk])
    assert case.title in body(client, book)
    assert client.post(book, {"booked_for": "2026-10-20"}).status_code == 303
    item.refresh_from_db()
    assert (item.due_on, item.booked_for) == (date(2026, 11, 4), date(2026, 10, 20))


def test_it_is_met_and_paid_for_and_falls_due_again(case: Case, client_of: Callable[..., Client]) -> None:
    item, client = case.item(in_days(10), every_months=None if case.kind.is_cover else 12), client_of(case.member)
    path = reverse("fleet:due-item-complete", args=[item.pk])
    assert (case.kind.done_day or "Day") in body(client, path)
    typed = case.typed(done_on="2026-03-16", next_due_on="2027-03-16", ref=str(uuid4()), odometer="30000")
    assert client.post(path, typed | ({"amount": "54.85"} if case.car else {})).status_code == 303
    item.refresh_from_db()
    assert item.due_on == date(2027, 3, 16)
    assert Completion.objects.get().due_item == item
    if case.car:
        cost = CostEntry.objects.get()
        assert (cost.category, cost.car) == (case.kind.cost_category, case.car)
        assert cost.get_category_display() != case.kind.cost_category, "no such cost category"
    assert "16 March 2026" in body(client, case.home)


def test_what_of_it_presses_stands_on_the_board(
    case: Case, client_of: Callable[..., Client], coordinator: Member
) -> None:
    for kind in DUE_KINDS.values():
        if case.car and kind.stops_car and kind is not case.kind:
            DueItemFactory.create(car=case.car, kind=kind.name)
    case.item(in_days(-1))
    says = "ran out on 15 March 2026" if case.kind.stops_car else "15 March 2026, 1 day overdue"
    assert f"{case.title} {says}" in " ".join(body(client_of(coordinator), reverse("fleet:car-list")).split())


def test_who_must_hold_it_is_asked_for_it(keeper: Member, colleague: Member, client_of: Callable[..., Client]) -> None:
    assert {grade for kind in DUE_KINDS.values() for grade in kind.held_by} == set(Grade.values)
    for member in (keeper, colleague):
        page = body(client_of(member), reverse("fleet:profile"))
        asked = {name for name in DUE_KINDS if f'?kind={name}"' in page}
        assert asked == {name for name, kind in DUE_KINDS.items() if member.grade in kind.held_by}


def test_the_page_of_reminders_says_which_can_be_turned_off(keeper: Member, client_of: Callable[..., Client]) -> None:
    page = body(client_of(keeper), reverse("fleet:reminder-choices"))
    told = {name for name, kind in DUE_KINDS.items() if f"<li>{kind.words}</li>" in page}
    assert told == {name for name, kind in DUE_KINDS.items() if kind.is_legal}
    assert all(kind.words_within.lower() in page.lower() for kind in DUE_KINDS.values())


# --- Figures ---------------------------------------------------------------------------------------------


def test_its_state_follows_its_notice_and_it_stops_what_it_says(case: Case) -> None:
    due_on, notice = in_days(10), timedelta(days=case.kind.notice_days)
    case.item(due_on)
    name, stops = case.kind.name, case.kind.stops_car and case.car is not None
    day = timedelta(days=1)
    assert whats_due(case, due_on - notice - day) == ("later", [])
    assert whats_due(case, due_on - notice) == whats_due(case, due_on) == ("due", [])
    assert whats_due(case, due_on + day) == ("overdue", [name] if stops else [])


def test_it_is_listed_unknown_only_where_every_car_must_have_it(case: Case) -> None:
    lines = due_report(TODAY).lines()
    assert (case.kind.name in [line.kind.name for line in lines]) == (case.kind.always_listed and case.car is not None)


def test_it_tells_the_point_of_readiness_that_rests_on_it(case: Case) -> None:
    car = case.car or CarFactory.create(keeper=case.member)

    def points() -> dict[str, Any]:
        report = due_report(TODAY, cars=[car], members=[car.keeper])
        return {found.point.name: found for found in readiness(LISTS["teach"], facts_of(car, report)).findings}

    if case.kind.confirms_tuition:
        ConfirmationFactory.create(car=car)  # which is a point of its own
    before = points()
    case.item(in_days(40))
    changed = {name for name, found in points().items() if found != before[name]}
    tells = {case.kind.name} if case.kind.in_date else {"instructor"} if case.kind.lets_teach else set()
    assert changed == tells


# --- Reminders and the calendar --------------------------------------------------------------------------


def steps_at(case: Case, days_left: int) -> list[int]:
    """The steps planned for its member when so many days are left."""
    Notice.objects.all().delete()
    DueItem.objects.update(due_on=in_days(days_left))
    plan_reminders(TODAY)
    told = Notice.objects.filter(recipient=case.member, kind=case.kind.name).exclude(occurrence__startswith="unknown")
    return list(told.values_list("step", flat=True))


def test_its_steps_are_told_from_its_notice_on(case: Case) -> None:
    case.item(in_days(1))
    notice = case.kind.notice_days
    assert steps_at(case, notice + 1) == []
    assert steps_at(case, notice) == [notice]
    assert [steps_at(case, days) for days in (14, 7, 1, 0)] == [[14], [7], [1], [0]]
    assert steps_at(case, -5) == ([-5] if case.kind.stops_car or case.kind.lets_teach else [0])
    case.member.wants_due_mail = False
    case.member.save()
    assert steps_at(case, 7) == ([7] if case.kind.is_legal else [])


def test_a_letter_says_what_is_to_be_done(case: Case) -> None:
    case.item(in_days(-1))
    for nation in ("GB", "NI"):
        Cooperative.objects.update(nation=nation)
        [line] = [line for line in due_report(TODAY).lines() if line.kind is case.kind]
        letter = item_of_line(line)
        assert (letter.title, letter.to_do) == (case.title, case.kind.to_do_in(nation))
        assert letter.is_off_the_road == case.kind.stops_car
        assert any(way.link.endswith("/book/") for way in letter.ways) == (not case.kind.is_cover)


def test_its_day_is_in_the_calendar(case: Case) -> None:
    case.item(date(2026, 4, 2))
    _, token = open_feed(by=case.member, scope=FeedScope.OWN)
    feed = Client().get(reverse("fleet:calendar-feed", args=[token])).content
    events = {str(event["summary"]): event["dtstart"].dt for event in icalendar.Calendar.from_ical(feed).events}
    assert events[f"{case.title}: QA51 ABC" if case.car else case.title] == date(2026, 4, 2)


# --- The archive -----------------------------------------------------------------------------------------


def empty_the_book() -> None:
    for table in reversed(TABLES):
        table.model._default_manager.all().delete()


def test_it_reloads_from_its_own_dump(case: Case, tmp_path: Path) -> None:
    months = None if case.kind.is_cover else 12
    standing = case.item(date(2026, 10, 3), every_months=months, booked_for=date(2026, 9, 1))
    CompletionFactory.create(due_item=standing, done_on=date(2025, 9, 22))
    over = case.item(date(2025, 3, 1), closed_on=date(2025, 2, 3))
    CompletionFactory.create(due_item=over, done_on=date(2025, 2, 3), was_due_on=date(2025, 3, 1))
    whole, own = dump().files, dump(case.member).files
    for name, made in {"whole": whole, "own": own}.items():
        empty_the_book()
        (tmp_path / f"{name}.zip").write_bytes(zipped(made))
        load(tmp_path / f"{name}.zip")
        assert dump(None if name == "whole" else Member.objects.get()).files == made
    [again] = DueItem.objects.filter(closed_on__isnull=True)
    assert (again.kind, again.due_on, again.title) == (case.kind.name, date(2026, 10, 3), case.title)
    assert Completion.objects.count() == 2


@EACH_KIND
def test_it_is_refused_for_whoever_has_no_such_thing(kind: DueKind, car: Car, keeper: Member, tmp_path: Path) -> None:
    wrong: dict[str, Any] = {"car": {"member": keeper}, "member": {"car": car}, "either": {}}[kind.of]
    if not wrong:
        return
    with pytest.raises(ValidationError) as refusal:
        add_due_item(by=keeper, kind=kind.name, due_on=TODAY, **wrong)
    assert set(refusal.value.message_dict) == {"kind"}
    archive = tmp_path / "archive"
    archive.mkdir()
    mark, email = ("", keeper.email) if "member" in wrong else (car.registration, "")
    (archive / "dues.csv").write_text(f"registration,member_email,kind,due_on\n{mark},{email},{kind.name},2026-10-03\n")
    with pytest.raises(ArchiveRefused, match=f"{kind.name} falls due on a {kind.of}"):
        load(archive)


# --- Costs -----------------------------------------------------------------------------------------------


@EACH_KIND
def test_a_cost_of_its_category_moves_cover_and_asks_after_work(
    kind: DueKind, car: Car, keeper: Member, client_of: Callable[..., Client]
) -> None:
    if not (kind.is_cover or kind.after_cost) or not kind.cost_category:
        return
    typed = {"ref": str(uuid4()), "car": car.registration, "category": kind.cost_category}
    # What is far from what such a thing costs would be asked about.
    typed["amount"] = {"insurance": "840.00", "mot": "45.00"}.get(kind.name, "120.00")
    typed |= {"paid_on": "2026-03-16", "tuition": "yes"}
    typed |= {"covers_from": "2026-03-16", "covers_to": "2027-03-15"} if kind.is_cover else {"covers_nothing": "on"}
    response = client_of(keeper).post(reverse("costing:cost-log"), typed, follow=True)
    assert CostEntry.objects.filter(category=kind.cost_category).exists()
    assert kind.after_cost in html.unescape(response.content.decode())
    due_days = list(DueItem.objects.filter(car=car, kind=kind.name).values_list("due_on", flat=True))
    assert due_days == ([date(2027, 3, 15)] if kind.is_cover else [])
