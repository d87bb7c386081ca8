"""After a member is erased, no table and no file holds their name, their address or a figure of theirs."""

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.apps import apps
from django.contrib.sessions.backends.db import SessionStore
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db.models import Model
from django.utils import timezone

from config.history import save_as
from costing.actions.erasure import MEMBERS_OWN
from costing.models import CostEntry, GroupFigure
from fleet.actions import hand_over
from fleet.models import Car, Completion, Defect, DueItem, OdometerReading, Photo, WalkaroundCheck
from instructors.actions import change_member
from instructors.erasure import erase
from instructors.models import Cleaning, Member
from instructors.signing_in.actions import change_address
from instructors.tasks import clean
from tests import factories
from tests.costing.receipts import kept

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("today")]
NAME, ADDRESS = "Wilhelmina Oddsworth", "canary.oddsworth@book.example"
#: Each stands in one row of the member's alone.
FIGURES = ["731.41", "62.37", "913.57", "8271.00", "417.93", "3217.00", "523.19", "2611.00", "644.81"]
WORD = "canaryword"
NOON = datetime(2026, 3, 10, 12, tzinfo=UTC)


@pytest.fixture
def member(coordinator: Member) -> Member:
    return factories.MemberFactory.create(name=NAME, email=ADDRESS)


@pytest.fixture
def car(member: Member) -> Car:
    """The member kept it until it left the book."""
    return factories.CarFactory.create(keeper=member, in_service_to=datetime(2026, 3, 1, tzinfo=UTC).date())


@pytest.fixture
def filled(member: Member, car: Car, coordinator: Member, files_folder: Path, settings: Any, tmp_path: Path) -> Member:
    """The member has a row of every model that has members' rows, with canaries in all that is typed."""
    amounts = iter(map(Decimal, FIGURES))
    cost = factories.CostEntryFactory.create(car=car, member=member, amount=next(amounts), note=f"note {WORD}")
    cost.supplier = f"supplier {WORD}"
    save_as(member, cost)
    fill = factories.FillFactory.create(car=car, member=member, amount=next(amounts), odometer=44_317)
    kept(cost, f"receipt {WORD}")
    kept(fill, f"fill {WORD}")
    factories.TakingsFactory.create(member=member, amount=next(amounts))
    factories.AgreementFactory.create(car=car, member=member, price=next(amounts))
    repeat = factories.RepeatFactory.create(car=car, member=member, amount=next(amounts), note=WORD)
    factories.SettledDueFactory.create(cost=cost, repeat=repeat, amount=next(amounts))
    factories.ValuationFactory.create(car=car, member=member, value=next(amounts))
    factories.PotBillFactory.create(member=member, amount=next(amounts), words=WORD)
    comparison = factories.ComparisonFactory.create(member=member, name=WORD, use={"canary": str(next(amounts))})
    factories.OfferFactory.create(comparison=comparison, name=WORD)
    factories.TeachingRecordFactory.create(car=car, member=member)
    factories.ChargePlanFactory.create(member=member)
    factories.PotPlanFactory.create(member=member)
    factories.DismissalFactory.create(member=member, car=car, reason=WORD)
    factories.BatchFactory.create(member=member)
    factories.PayeeFactory.create(member=member, name=WORD)
    paper = factories.PaperFactory.create(member=member)
    paper.file.save("", ContentFile(f"paper {WORD}".encode()))
    _fill_fleet(member, car, coordinator)
    _fill_people(member, coordinator)
    settings.EMAIL_FILE_PATH = str(tmp_path / "mail")
    (tmp_path / "mail").mkdir()
    (tmp_path / "mail" / "1.log").write_text(f"Subject: Due\nTo: {ADDRESS}\n\nHello")
    return member


def _fill_fleet(member: Member, car: Car, coordinator: Member) -> None:
    item = factories.DueItemFactory.create(car=None, member=member, kind="adi_registration", note=WORD)
    factories.CompletionFactory.create(due_item=item, recorded_by=member, note=WORD)
    paper = Photo(car=car, taken_by=member)
    paper.image.save("", ContentFile(f"photo {WORD}".encode()), save=False)
    save_as(member, paper)
    own = factories.DueItemFactory.create(car=car, kind="dual_controls", note=f"{NAME}'s garage")
    factories.CompletionFactory.create(due_item=own, recorded_by=member, photo=paper, cost_ref="cost", note="done")
    factories.WalkaroundCheckFactory.create(car=car, member=member, note=f"By {NAME.upper()}, {ADDRESS}")
    defect = factories.DefectFactory.create(car=car, reported_by=member, description=f"Said by {NAME}: worn")
    factories.DefectStepFactory.create(defect=defect, by=member, words="worn", done_by=NAME)
    factories.NoticeFactory.create(car=car, recipient=member)
    factories.NoticeFactory.create(
        car=None, member=member, recipient=coordinator, mail=factories.ReminderMailFactory.create(recipient=coordinator)
    )
    factories.CalendarFeedFactory.create(member=member)


def _fill_people(member: Member, coordinator: Member) -> None:
    factories.ActFactory.create(concerns=member, by=coordinator, now=NAME)
    factories.ActFactory.create(concerns=coordinator, by=member, about=f"Car of {NAME}", mail=None)
    factories.InvitationFactory.create(email=ADDRESS, name=NAME)
    EmailAddress.objects.create(user=member, email=ADDRESS, primary=True)
    Authenticator.objects.create(user=member, type="totp", data={"secret": WORD})
    session = SessionStore()
    session["canary"] = ADDRESS
    session.create()
    UserSession.objects.create(user=member, session_key=session.session_key, ip="192.0.2.1", user_agent=WORD)


def texts() -> Iterator[tuple[str, str]]:
    """Every value of every row of every table, but of the sessions, which are sealed; and every file."""
    for model in apps.get_models(include_auto_created=True):
        for row in model._base_manager.values():
            yield from ((f"{model._meta.label}.{name}", str(value)) for name, value in row.items())


def found(files: Path, mail: Path, *canaries: str) -> set[str]:
    held = {place for place, text in texts() for canary in canaries if canary.casefold() in text.casefold()}
    for path in [*files.rglob("*"), *mail.rglob("*")]:
        if path.is_file() and any(canary.encode() in path.read_bytes() for canary in canaries):
            held.add(str(path.relative_to(files.parent)))
    return held


@pytest.mark.parametrize("who", ["member", "coordinator"])
def test_nothing_of_the_member_is_left(
    filled: Member, coordinator: Member, files_folder: Path, tmp_path: Path, who: str
) -> None:
    canaries = [NAME, ADDRESS, WORD, *FIGURES]
    for canary in canaries:
        assert found(files_folder, tmp_path / "mail", canary), canary
    if who == "coordinator":
        Member.objects.filter(pk=filled.pk).update(left_on=datetime(2026, 2, 1, tzinfo=UTC).date())
    erase(by=filled if who == "member" else coordinator, member=filled)
    assert found(files_folder, tmp_path / "mail", *canaries) == set()
    assert not UserSession.objects.exists()
    assert SessionStore().exists("any") is False
    assert not any(Path(files_folder, "receipts").iterdir())


def test_nothing_of_an_earlier_name_or_address_is_left(
    filled: Member, car: Car, coordinator: Member, files_folder: Path, tmp_path: Path
) -> None:
    """They came by another name at another address, and have changed both since; others have them now in part."""
    factories.InvitationFactory.create(email="w.before@book.example", name="Mina Before-Lately", accepted_at=NOON)
    factories.InvitationFactory.create(email="w.before@book.example", name="Mina Asked-Twice", withdrawn_at=NOON)
    change_address(by=filled, email="w.between@book.example")
    Member.objects.filter(pk=filled.pk).update(email="w.before@book.example")
    filled.refresh_from_db()
    change_address(by=filled, email="w.now@book.example")
    for name in ("Mina Between", NAME):
        change_member(by=coordinator, member=filled, name=name, role="member", grade="ADI")
    said = (
        f"By Mina Before-Lately, Mina Between, {NAME}, {ADDRESS}, w.before@book.example. Or w.before@book.example.org"
    )
    factories.DefectFactory.create(car=car, reported_by=coordinator, description=said)
    (tmp_path / "mail" / "2.log").write_text("Subject: Due\nTo:\n w.before@book.example\n\nHello")
    erase(by=filled, member=Member.objects.get(pk=filled.pk))
    gone = (NAME, ADDRESS, "Before-Lately", "Mina", "w.between", "w.now")
    assert found(files_folder, tmp_path / "mail", *gone) == set()
    left = ", ".join(["a former member"] * 5)
    assert Defect.objects.filter(description=f"By {left}. Or w.before@book.example.org").exists()
    assert not (tmp_path / "mail" / "2.log").exists()


def test_an_earlier_name_or_address_that_is_somebody_elses_now_stays_theirs(
    filled: Member, car: Car, coordinator: Member
) -> None:
    change_address(by=filled, email="w.now@book.example")
    change_member(by=coordinator, member=filled, name="Mina Now", role="member", grade="ADI")
    factories.MemberFactory.create(name=NAME, email=ADDRESS)
    said = f"{NAME}, {ADDRESS}, Mina Now"
    defect = factories.DefectFactory.create(car=car, reported_by=coordinator, description=said)
    erase(by=filled, member=Member.objects.get(pk=filled.pk))
    assert Defect.objects.get(pk=defect.pk).description == f"{NAME}, {ADDRESS}, a former member"


def test_mails_to_an_address_that_only_begins_so_stay(filled: Member, tmp_path: Path) -> None:
    others = tmp_path / "mail" / "2.log"
    others.write_text(f"Subject: Due\nTo: {ADDRESS}.org\n\nHello")
    erase(by=filled, member=filled)
    assert [path.name for path in (tmp_path / "mail").glob("*.log") if path == others] == ["2.log"]


def test_the_cars_history_stays_without_the_name(filled: Member, car: Car) -> None:
    erase(by=filled, member=filled)
    assert WalkaroundCheck.objects.get().note == "By a former member, a former member"
    assert Defect.objects.get().description == "Said by a former member: worn"
    step = Defect.objects.get().steps.get(words="worn")
    assert (step.by.name, step.done_by) == ("A former member", "a former member")
    [done] = Completion.objects.all()
    assert (done.note, done.cost_ref, done.photo) == ("done", "", None)
    assert Car.objects.get(pk=car.pk).keeper_id == filled.pk
    assert not DueItem.objects.filter(member=filled).exists()
    # By the miles it is known when a car is due: they stay, without the fill.
    assert OdometerReading.objects.filter(car=car, miles=44_317).exists()


def test_others_keep_what_is_theirs(filled: Member, car: Car, colleague: Member, colleague_car: Car) -> None:
    factories.CostEntryFactory.create(car=car, member=colleague)
    theirs = factories.CostEntryFactory.create(car=colleague_car)
    figure = factories.GroupFigureFactory.create()
    erase(by=filled, member=filled)
    assert CostEntry.objects.count() == 2
    assert theirs.history.count() == 1
    assert GroupFigure.objects.get() == figure
    colleague.refresh_from_db()
    assert colleague.erased_at is None


def test_every_model_of_the_costs_that_has_members_rows_is_erased() -> None:
    """A new table of a member's own has its place in the list, or this fails."""

    def is_of_member(model: type[Model]) -> bool:
        return any(field.name == "member" for field in model._meta.concrete_fields)

    own = {model for model in apps.get_app_config("costing").get_models() if is_of_member(model)}
    histories = {model.history.model for model in MEMBERS_OWN if hasattr(model, "history")}
    assert own == {*MEMBERS_OWN, *histories}


def test_they_count_as_gone_at_once(filled: Member) -> None:
    erase(by=filled, member=filled)
    filled.refresh_from_db()
    assert not filled.belongs_on(timezone.localdate())
    assert filled.email.endswith("@erased.invalid")


def test_what_a_page_was_saving_meanwhile_goes_the_night_after(
    filled: Member, car: Car, files_folder: Path, tmp_path: Path
) -> None:
    erase(by=filled, member=filled)
    fill = factories.FillFactory.create(car=car, member=filled, amount=Decimal("731.41"))
    kept(fill, f"receipt {WORD}")
    factories.CalendarFeedFactory.create(member=filled)
    clean()
    assert found(files_folder, tmp_path / "mail", WORD, FIGURES[0]) == set()
    cleaning = Cleaning.objects.get(name="saved_meanwhile")
    assert cleaning.count == 3
    clean()
    cleaning.refresh_from_db()
    assert cleaning.count == 0


def test_lists_of_cars_that_name_the_member_go_too(
    filled: Member, coordinator: Member, files_folder: Path, tmp_path: Path
) -> None:
    named = factories.PaperFactory.create(
        member=coordinator, kind="cars", asked="q=Wilhelmina+Oddsworth", of_coordinator=True
    )
    named.file.save("", ContentFile(NAME.encode()))
    erase(by=filled, member=filled)
    assert found(files_folder, tmp_path / "mail", NAME, "Oddsworth") == set()


def test_one_who_is_in_the_way_keeps_nobody_else_from_being_cleaned(filled: Member, coordinator: Member) -> None:
    erase(by=filled, member=filled)
    other = factories.MemberFactory.create(name="Zebedee Late")
    erase(by=other, member=other)
    for member in (filled, other):
        EmailAddress.objects.create(user=member, email=f"{member.pk}@late.example")
    factories.CarFactory.create(keeper=filled, registration="QL01ATE")
    clean()
    assert list(EmailAddress.objects.values_list("user", flat=True)) == [filled.pk]


def test_nothing_is_recorded_of_one_who_was_erased_meanwhile(filled: Member, car: Car, coordinator: Member) -> None:
    stale = Member.objects.get(pk=filled.pk)
    other = factories.CarFactory.create(registration="QL01ATE")
    erase(by=filled, member=filled)
    with pytest.raises(ValidationError, match="erased already"):
        change_member(by=coordinator, member=stale, name=NAME, role="member", grade="ADI")
    with pytest.raises(ValidationError, match="still a member"):
        hand_over(by=coordinator, car=other, keeper=stale, on=timezone.localdate(), odometer=60_000)
