"""What of an archive can hardly be right is told when it is loaded, and what somebody found right comes along."""

from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from costing.archive.doubts import Doubts
from costing.archive.dumping import dump
from costing.archive.faults import ArchiveFault, ArchiveRefused
from costing.archive.loading import load
from costing.archive.packing import save
from costing.models import CostEntry, Fill
from instructors.models import Member
from tests.factories import CarFactory, CostEntryFactory, FillFactory, MemberFactory, OdometerReadingFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def member() -> Member:
    return MemberFactory(email="one@book.example")


@pytest.fixture
def archive(member: Member, tmp_path: Path) -> Path:
    """A book of ordinary fills with one that is a nought off, dumped; the book is empty again."""
    car = CarFactory(keeper=member, registration="QA51ABC")
    OdometerReadingFactory(car=car, read_on=date(2026, 1, 1), miles=40_000)
    for number in range(8):
        FillFactory(
            car=car, member=member, ref=f"f{number}", filled_on=date(2026, 1, 5 + 3 * number),
            odometer=40_300 + 400 * number, quantity=38 + number % 3, amount=57 + number % 3,
        )  # fmt: skip
    Fill.objects.filter(ref="f7").update(amount="590.00")
    CostEntryFactory(car=car, member=member, ref="c1", category="mot", amount="548.50", paid_on=date(2026, 1, 20))
    save(dump().contents, tmp_path / "book")
    Fill.objects.all().delete()
    CostEntry.objects.all().delete()
    return tmp_path / "book"


def test_what_can_hardly_be_right_is_listed_and_loaded(archive: Path) -> None:
    said = StringIO()
    call_command("load_archive", str(archive), stderr=said, stdout=StringIO())
    lines = said.getvalue().splitlines()
    assert [line.split(": ")[:2] for line in lines] == [["costs.csv:2", "amount"], ["fills.csv:9", "amount"]]
    assert "£548.50 for an MOT?" in lines[0]
    assert (Fill.objects.count(), CostEntry.objects.count()) == (8, 1)


def test_what_is_in_the_book_already_is_not_told_again(archive: Path) -> None:
    load(archive)
    assert load(archive).doubts == []


def test_what_somebody_found_right_is_not_told_and_comes_out_as_it_went_in(archive: Path, member: Member) -> None:
    load(archive)
    reason = "price_litre"
    (archive / "found_right.csv").write_text(f"ref,reason\nc1,sum_mot\nf7,{reason}\n")
    loaded = load(archive)
    assert loaded.added["found_right.csv"] == 2
    assert {one.found_right for one in Fill.objects.filter(ref="f7")} == {reason}
    written = dump().contents["found_right.csv"]
    assert written == (archive / "found_right.csv").read_bytes()
    Fill.objects.all().delete()
    CostEntry.objects.all().delete()
    assert load(archive).doubts == []
    assert dump().contents["found_right.csv"] == written
    assert load(archive).already_known["found_right.csv"] == 2
    assert dump(member).contents["found_right.csv"] == written
    assert "found_right.csv" not in dump(MemberFactory()).contents


@pytest.mark.parametrize(
    ("rows", "place"),
    [
        ("nobody,sum_mot", "found_right.csv:2: ref: nobody is no entry of the archive or of the book"),
        ("c1,because", "found_right.csv:2: reason:"),
        ("\n".join(f"c1,{reason}" for reason in ("sum_mot", "sum_mot")), "found_right.csv:3: reason: repeats line 2"),
    ],
)
def test_a_row_of_nothing_is_refused(archive: Path, rows: str, place: str) -> None:
    (archive / "found_right.csv").write_text(f"ref,reason\n{rows}\n")
    with pytest.raises(ArchiveRefused) as refused:
        load(archive)
    assert str(refused.value).startswith(place)


def test_more_doubts_than_are_listed_are_counted() -> None:
    doubts = Doubts()
    for line in range(1_002, 0, -1):
        doubts.add(ArchiveFault("fills.csv", line, "amount", "?"))
    assert len(doubts.lines) == 1_001
    assert doubts.lines[-1] == "and 2 more"
