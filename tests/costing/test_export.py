"""The address /export/: a member's own records as a zip."""

import json
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import reverse

from config import budgets
from config.pictures import as_pages
from costing.actions import keep_receipts, make_paper
from costing.archive.everything import make_export
from costing.models import CostEntry, Paper
from fleet.models import Car, Photo
from instructors.models import Member
from tests.factories import (
    ActFactory,
    ChargePlanFactory,
    ComparisonFactory,
    CostEntryFactory,
    DismissalFactory,
    NoticeFactory,
    OfferFactory,
    PayeeFactory,
    PhotoFactory,
    PotBillFactory,
    PotPlanFactory,
)
from tests.pictures import picture_bytes

EXPORT = reverse("costing:export")


@pytest.mark.usefixtures("today")
def test_it_holds_the_members_own_records_and_nobody_elses(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    CostEntryFactory(car=car, note="mine")
    CostEntryFactory(car=colleague_car, note="theirs")
    response = everyone["keeper"].post(EXPORT)
    assert response.headers["Content-Type"] == "application/zip"
    assert response.headers["Content-Disposition"] == 'attachment; filename="tuition-car-book-2026-03-16.zip"'
    with ZipFile(BytesIO(b"".join(response))) as archive:
        costs = archive.read("costs.csv").decode()
        everything = "".join(archive.read(name).decode() for name in archive.namelist())
    assert "mine" in costs
    assert "theirs" not in everything
    assert "colleague@" not in everything


def test_it_is_for_members(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(EXPORT).url.startswith(reverse("account_login"))


@pytest.mark.usefixtures("today")
def test_only_two_of_a_member_are_on_their_way_at_once(everyone: dict[str, Client], car: Car) -> None:
    """Each keeps one of the few threads until its last byte is taken: eight unread ones locked everybody out."""
    first, second = (everyone["keeper"].post(EXPORT) for _ in range(2))
    third = everyone["keeper"].post(EXPORT)
    assert third.status_code == 429
    assert "Other files of yours are still under way" in third.content.decode()
    assert everyone["keeper"].get(EXPORT).status_code == 200
    other = everyone["colleague"].post(EXPORT)
    assert other.status_code == 200
    assert b"".join(second).startswith(b"PK")
    fourth = everyone["keeper"].post(EXPORT)
    assert fourth.status_code == 200
    assert everyone["keeper"].post(EXPORT).status_code == 429
    assert {len(b"".join(answer)) > 0 for answer in (first, fourth, other)} == {True}


# --- What lies beside the archive -------------------------------------------------------------------------

MAKERS = {"export": make_export}


def files_in(response: HttpResponseBase) -> dict[str, bytes]:
    with ZipFile(BytesIO(b"".join(response))) as archive:  # type: ignore[arg-type]
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.fixture
def with_something_of_all(car: Car, colleague_car: Car, files_folder: Path) -> Car:
    """The keeper has one of each sort, and the colleague the same under another name."""
    for whose, name in ((car, "mine"), (colleague_car, "theirs")):
        member = whose.keeper
        pages = as_pages(BytesIO(picture_bytes(size=(60, 90))))
        keep_receipts(by=member, entry=CostEntryFactory(car=whose, note=name), pages=pages)
        OfferFactory(comparison=ComparisonFactory(member=member, name=f"Comparison {name}"), name=f"Offer {name}")
        ChargePlanFactory(member=member)
        PotPlanFactory(member=member)
        PotBillFactory(member=member, words=f"Bill {name}")
        DismissalFactory(member=member, car=whose, reason=f"Reason {name}")
        PayeeFactory(member=member, name=f"payee {name}")
        ActFactory(concerns=member, about=f"Act {name}")
        NoticeFactory(car=whose, kind="service", occurrence=f"{len(name)}0000 miles")
        photo = Photo(car=whose, taken_by=member, is_of_defect=True)
        photo.image.save("", ContentFile(f"photo {name}".encode()), save=False)
        photo.save()
    PhotoFactory(car=car)  # its file is gone
    return car


@pytest.mark.usefixtures("today", "with_something_of_all")
def test_it_holds_what_no_archive_file_has_and_says_what_each_file_is(everyone: dict[str, Client]) -> None:
    files = files_in(everyone["keeper"].post(EXPORT))
    tables = {name: json.loads(content) for name, content in files.items() if name.endswith(".json")}
    said = files["README.txt"].decode()
    for name in files.keys() - {"README.txt"}:
        last = name.removeprefix("beside/").split("/")[0]
        assert last in said or name.endswith(".csv"), name
    assert tables["beside/profile.json"]["email"] == "keeper@book.example"
    [comparison] = tables["beside/comparisons.json"]
    assert (comparison["name"], comparison["offers"][0]["name"]) == ("Comparison mine", "Offer mine")
    assert len(tables["beside/charge.json"]) == len(tables["beside/pot.json"]) == 1
    assert tables["beside/pot_bills.json"][0]["words"] == "Bill mine"
    assert tables["beside/dismissals.json"][0]["car"] == "QA51 ABC"
    assert tables["beside/payees.json"][0]["name"] == "payee mine"
    assert "Act mine: last day in service" in {act["what"] for act in tables["beside/record.json"]}
    assert tables["beside/notices.json"][0]["occurrence"] == "40000 miles"
    assert tables["beside/sign_ins.json"] == tables["beside/calendars.json"] == []
    [photo] = tables["beside/photos.json"]
    assert files[f"beside/{photo['file']}"] == b"photo mine"
    assert len([name for name in files if name.startswith("receipts/")]) == 1
    everything = b"".join(files.values())
    for word in (b"theirs", b"60000 miles", b"colleague@", b"QB02"):
        assert word not in everything, word


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("today")
def test_another_book_loads_it_as_it_is(
    everyone: dict[str, Client], with_something_of_all: Car, tmp_path: Path, files_folder: Path
) -> None:
    path = tmp_path / "mine.zip"
    path.write_bytes(b"".join(everyone["keeper"].post(EXPORT)))  # type: ignore[arg-type]
    call_command("flush", interactive=False, verbosity=0)
    call_command("load_archive", str(path))
    assert CostEntry.objects.get().note == "mine"


@pytest.mark.usefixtures("today", "with_something_of_all")
def test_a_large_one_is_made_by_the_worker_and_goes_to_its_owner_alone(
    everyone: dict[str, Client], keeper: Member, monkeypatch: Any, django_capture_on_commit_callbacks: Any
) -> None:
    monkeypatch.setattr(budgets, "EXPORT_BYTES_AT_ONCE", 100)
    answer = everyone["keeper"].post(EXPORT)
    paper = Paper.objects.get()
    assert answer.headers["Location"] == reverse("costing:paper", args=[paper.pk])
    assert make_paper(paper.pk, MAKERS)
    file = reverse("costing:paper-file", args=[paper.pk])
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(file).status_code == 404
    sent = everyone["keeper"].get(file)
    assert sent.headers["Content-Disposition"].startswith("attachment")
    assert sent.headers["Content-Type"] == "application/zip"
    assert {"README.txt", "costs.csv", "beside/profile.json"} <= files_in(sent).keys()
    # Another one takes its place: two would take the room of two.
    with django_capture_on_commit_callbacks(execute=True):
        everyone["keeper"].post(EXPORT)
    assert Paper.objects.get().pk != paper.pk
    assert everyone["keeper"].get(file).status_code == 404


@pytest.mark.usefixtures("today", "with_something_of_all")
def test_one_that_is_too_large_says_so(everyone: dict[str, Client], keeper: Member, monkeypatch: Any) -> None:
    monkeypatch.setattr(budgets, "EXPORT_BYTES_AT_ONCE", 100)
    everyone["keeper"].post(EXPORT)
    monkeypatch.setattr(budgets, "EXPORT_BYTES", 200)
    paper = Paper.objects.get()
    assert not make_paper(paper.pk, MAKERS)
    paper.refresh_from_db()
    assert "more than one file may hold" in paper.error


@pytest.mark.usefixtures("today")
def test_it_says_until_when_the_records_must_be_kept(everyone: dict[str, Client]) -> None:
    assert "until 31 January 2032" in everyone["keeper"].get(EXPORT).content.decode()
