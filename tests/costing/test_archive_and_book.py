"""An archive loaded into a book that holds something: what is known, what is added, what is in the way."""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.models import Agreement, CostEntry, Fill, Valuation
from fleet.models import Car, Defect, DueItem, OdometerReading, WalkaroundCheck
from instructors.models import Cooperative, Member
from tests.costing.archive_sample import SAMPLE, cells, more, row_counts, write_archive
from tests.factories import CooperativeFactory, DueItemFactory, MemberFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """The sample archive, loaded."""
    folder = write_archive(tmp_path / "sample")
    load(folder)
    return folder


def refusal_of(folder: Path, files: dict[str, str]) -> list[str]:
    before = row_counts()
    with pytest.raises(ArchiveRefused) as refused:
        load(write_archive(folder / "second", files))
    assert row_counts() == before
    return [str(fault) for fault in refused.value.faults]


def test_the_same_archive_again_adds_nothing(sample: Path) -> None:
    before = row_counts()
    loaded = load(sample)
    assert row_counts() == before
    assert set(loaded.added.values()) == {0}
    assert loaded.already_known == {
        "cooperative.csv": 1,
        "members.csv": 3,
        "cars.csv": 2,
        "keepers.csv": 3,
        "odometer.csv": 3,
        "repeats.csv": 2,
        "costs.csv": 4,
        "fills.csv": 3,
        "teaching.csv": 2,
        "takings.csv": 3,
        "dues.csv": 4,
        "agreements.csv": 2,
        "valuations.csv": 1,
        "closings.csv": 4,
        "points.csv": 2,
        "checks.csv": 3,
        "defects.csv": 3,
        "defect_steps.csv": 14,
        "treads.csv": 3,
        "tyre_moves.csv": 3,
        "completions.csv": 8,
        "confirmations.csv": 3,
    }


def test_only_the_rows_that_are_new_are_added(sample: Path, tmp_path: Path) -> None:
    files = more("fills.csv", like=1, ref="f-9", filled_on="2026-02-20", odometer="49400")
    loaded = load(write_archive(tmp_path / "second", files))
    assert {file: count for file, count in loaded.added.items() if count} == {"fills.csv": 1}
    assert loaded.already_known["fills.csv"] == 3
    assert Fill.objects.get(ref="f-9").odometer == 49_400


def test_rows_may_name_members_and_cars_of_the_book(sample: Path, tmp_path: Path) -> None:
    row = "registration,valued_on,value\nQB02XYZ,2026-02-01,9000.00\n"
    load(write_archive(tmp_path / "second", {"valuations.csv": row}))
    assert Valuation.objects.get(value=9000).member.email == "bo@book.example"


@pytest.mark.parametrize(
    ("file", "column", "cell", "words"),
    [
        ("members.csv", "name", "Anne", "is Anne here, but Ann Applegarth in the book"),
        ("members.csv", "joined_on", "", "is empty here, but 2020-04-06 in the book"),
        ("cars.csv", "keeper_email", "bo@book.example", "but ann@book.example in the book"),
        ("odometer.csv", "miles", "30001", "is 30001 here, but 30000 in the book"),
        ("costs.csv", "amount", "780.01", "is 780.01 here, but 780.00 in the book"),
        ("costs.csv", "note", "late", "is late here, but empty in the book"),
        ("fills.csv", "brimmed", "false", "is false here, but true in the book"),
        ("teaching.csv", "hours", "26.5", "is 26.50 here, but 26.00 in the book"),
        ("takings.csv", "amount", "720.00", "is 720.00 here, but 702.00 in the book"),
        ("dues.csv", "due_on", "2028-05-31", "but 2027-05-31 in the book"),
        ("agreements.csv", "quoted_apr", "12.9", "is 12.90 here, but 11.90 in the book"),
        ("valuations.csv", "value", "8000", "is 8000.00 here, but 7900.00 in the book"),
        ("points.csv", "words", "Roof box", "is Roof box here, but Roof sign in the book"),
        ("checks.csv", "points", "lamps", "is lamps here, but tyre_tread lamps own-roof_sign in the book"),
        ("defects.csv", "words", "Dent", "is Dent here, but Brake lamp out, left side in the book"),
        ("defect_steps.csv", "words", "Dent", "is Dent here, but empty in the book"),
        ("treads.csv", "inner", "6.1", "is 6.1 here, but 6.0 in the book"),
        ("tyre_moves.csv", "came_from", "rear_left", "is rear_left here, but empty in the book"),
        ("completions.csv", "note", "late", "is late here, but empty in the book"),
        ("confirmations.csv", "is_met", "false", "is false here, but true in the book"),
    ],
)
def test_a_known_key_with_another_value_is_refused(
    sample: Path, tmp_path: Path, file: str, column: str, cell: str, words: str
) -> None:
    (told,) = refusal_of(tmp_path, cells(file, {column: cell}))
    assert told.startswith(f"{file}:2: {column}: ")
    assert words in told


def test_every_difference_is_told(sample: Path, tmp_path: Path) -> None:
    files = cells("costs.csv", {"amount": "1", "note": "n"}, {"category": "other"})
    told = refusal_of(tmp_path, files)
    assert [fault.rpartition(": ")[0] for fault in told] == [
        "costs.csv:2: amount",
        "costs.csv:2: note",
        "costs.csv:3: category",
    ]


def test_the_settings_alone_are_changed_and_what_is_not_given_stays(tmp_path: Path) -> None:
    CooperativeFactory.create(reminder_hour=9, tyre_life_miles=30_000)
    files = {"cooperative.csv": "name,nation,minimum_contributors,depreciation_rate\nHillside,NI,,0.2\n"}
    loaded = load(write_archive(tmp_path / "archive", files))
    assert loaded.added["cooperative.csv"] == 1
    settings = Cooperative.objects.get()
    assert (settings.name, settings.nation, settings.depreciation_rate) == ("Hillside", "NI", Decimal("0.2"))
    assert (settings.reminder_hour, settings.minimum_contributors, settings.tyre_life_miles) == (9, 5, 30_000)
    assert load(tmp_path / "archive").already_known["cooperative.csv"] == 1


def test_an_address_is_the_same_in_capitals(tmp_path: Path) -> None:
    MemberFactory.create(email="ann@book.example", name="Ann", joined_on=None)
    files = {"members.csv": "email,name,role\nANN@Book.Example,Ann,member\n"}
    assert load(write_archive(tmp_path / "archive", files)).already_known["members.csv"] == 1
    assert Member.objects.count() == 1


def test_a_voided_entry_is_known_and_stays_voided(sample: Path) -> None:
    Fill.objects.filter(ref="f-2").update(voided_at=timezone.now())
    loaded = load(sample)
    assert (loaded.added["fills.csv"], loaded.already_known["fills.csv"]) == (0, 3)
    assert Fill.objects.standing().count() == 2


# --- Odometers -------------------------------------------------------------------------------------------


def test_a_reading_below_a_fill_of_the_book_is_refused(sample: Path, tmp_path: Path) -> None:
    (told,) = refusal_of(tmp_path, {"odometer.csv": "registration,read_on,miles\nQA51ABC,2026-03-01,48999\n"})
    assert told == (
        "odometer.csv:2: miles: 48,999 miles is less than the 49,000 of 1 February 2026 "
        "(already in the book): an odometer never falls"
    )


def test_a_fill_above_a_later_reading_of_the_book_is_refused(sample: Path, tmp_path: Path) -> None:
    files = more("fills.csv", ref="f-9", filled_on="2025-12-01", odometer="48001")
    (told,) = refusal_of(tmp_path, files)
    assert told == (
        "fills.csv:5: odometer: 48,001 miles is more than the 48,000 of 1 January 2026 "
        "(already in the book): an odometer never falls"
    )


def test_readings_of_one_day_may_stand_in_any_order(sample: Path, tmp_path: Path) -> None:
    files = {
        "odometer.csv": "registration,read_on,miles\nQA51ABC,2026-02-01,48100\nQA51ABC,2026-02-02,49000\n",
        "fills.csv": SAMPLE["fills.csv"],
    }
    assert load(write_archive(tmp_path / "second", files)).added["odometer.csv"] == 2


def test_a_voided_fill_shows_no_miles(sample: Path, tmp_path: Path) -> None:
    Fill.objects.filter(ref="f-2").update(voided_at=timezone.now())
    files = {"odometer.csv": "registration,read_on,miles\nQA51ABC,2026-03-01,48999\n"}
    assert load(write_archive(tmp_path / "second", files)).added["odometer.csv"] == 1


def test_each_car_has_its_own_odometer(sample: Path, tmp_path: Path) -> None:
    files = {"odometer.csv": "registration,read_on,miles\nQB02XYZ,2026-02-10,1200\n"}
    load(write_archive(tmp_path / "second", files))
    assert OdometerReading.objects.filter(miles=1200, car__registration="QB02XYZ").exists()


def test_what_the_database_refuses_all_the_same_is_told_as_a_fault(
    sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As if the other fill had been logged between the checks and the writing.
    monkeypatch.setattr("costing.archive.checking.check_odometers", lambda *_: None)
    told = refusal_of(tmp_path, more("fills.csv", ref="f-9", filled_on="2026-03-01", odometer="1"))
    assert len(told) == 1
    assert told[0].startswith("second:1: (file): passed every check, but the database refused it: ")
    assert "never falls" in told[0]


# --- Due items -------------------------------------------------------------------------------------------


def costs_with(*rows: str) -> dict[str, str]:
    header = "ref,registration,member_email,paid_on,category,amount,covers_from,covers_to,ended_on"
    bought = [f"n-{number},QB02XYZ,bo@book.example,2025-03-01,{row}" for number, row in enumerate(rows)]
    return {"costs.csv": "\n".join([header, *bought, ""])}


def test_cover_that_was_paid_for_becomes_a_due_item(sample: Path, tmp_path: Path) -> None:
    files = costs_with(
        "insurance,700.00,2025-03-01,2026-02-28,2025-08-31",
        "insurance,350.00,2025-09-01,2026-01-31,",
        "insurance,-50.00,2025-09-01,2027-01-31,",
        "vehicle_tax,195.00,2025-03-01,2026-02-28,2025-10-31",
        "breakdown_cover,60.00,,,",
        "servicing,200.00,2025-03-01,2026-02-28,",
    )
    loaded = load(write_archive(tmp_path / "second", files))
    assert (loaded.from_cover, loaded.added["dues.csv"]) == (2, 0)
    found = DueItem.objects.filter(car__registration="QB02XYZ").values_list("kind", "due_on").order_by("kind")
    assert list(found) == [("insurance", date(2026, 1, 31)), ("vehicle_tax", date(2025, 10, 31))]
    assert DueItem.history.filter(car__registration="QB02XYZ").count() == 2
    assert load(tmp_path / "second").from_cover == 0


def test_a_due_item_of_the_file_comes_before_cover(sample: Path, tmp_path: Path) -> None:
    files = costs_with("insurance,700.00,2025-03-01,2026-02-28,")
    files["dues.csv"] = "registration,kind,due_on\nQB02XYZ,insurance,2026-02-14\n"
    assert load(write_archive(tmp_path / "second", files)).from_cover == 0
    assert DueItem.objects.get(car__registration="QB02XYZ").due_on == date(2026, 2, 14)


@pytest.mark.parametrize("closed_on", [None, date(2026, 1, 5)])
def test_a_due_item_of_the_book_open_or_closed_comes_before_cover(
    sample: Path, tmp_path: Path, closed_on: date | None
) -> None:
    car = Car.objects.get(registration="QB02XYZ")
    item = DueItemFactory.create(car=car, kind="insurance", due_on=date(2026, 1, 5), closed_on=closed_on)
    load(write_archive(tmp_path / "second", costs_with("insurance,700.00,2025-03-01,2026-02-28,")))
    assert list(DueItem.objects.filter(car=car)) == [item]


def test_a_due_item_that_was_met_does_not_come_back(sample: Path) -> None:
    met = DueItem.objects.filter(kind="mot")
    met.update(closed_on=date(2026, 3, 1), booked_for=None)
    assert load(sample).already_known["dues.csv"] == 4
    assert not met.filter(closed_on__isnull=True).exists()


def test_a_new_due_item_of_a_kind_that_was_met_is_added(sample: Path, tmp_path: Path) -> None:
    DueItem.objects.filter(kind="mot").update(closed_on=date(2026, 3, 1))
    files = {"dues.csv": "registration,kind,due_on\nQA51ABC,mot,2027-10-03\n"}
    assert load(write_archive(tmp_path / "second", files)).added["dues.csv"] == 1


# --- Completions and the items they hang on --------------------------------------------------------------


def test_completions_hang_on_the_item_that_stands(sample: Path) -> None:
    mot = DueItem.objects.get(kind="mot", closed_on__isnull=True)
    assert [completion.done_on.year for completion in mot.completions.all()] == [2025, 2024]


def test_an_item_done_for_good_is_made_again_by_its_completions(sample: Path) -> None:
    licence = DueItem.objects.get(kind="driving_licence")
    assert (licence.member.email, licence.closed_on) == ("bo@book.example", date(2026, 1, 30))
    assert licence.completions.count() == 2
    assert {item.completions.get().note for item in DueItem.objects.filter(kind="other")} == {
        "Second seat belt",
        "Roof sign",
    }


def test_completions_are_known_though_their_item_was_done_for_good_since(sample: Path) -> None:
    DueItem.objects.filter(kind="mot").update(closed_on=date(2026, 3, 1), booked_for=None)
    assert load(sample).already_known["completions.csv"] == 8


def test_a_completion_may_hang_on_what_a_cost_covers(sample: Path, tmp_path: Path) -> None:
    files = costs_with("insurance,700.00,2025-03-01,2026-02-28,")
    files["completions.csv"] = "registration,kind,done_on\nQB02XYZ,insurance,2025-02-27\n"
    load(write_archive(tmp_path / "second", files))
    assert DueItem.objects.get(car__registration="QB02XYZ").completions.get().recorded_by.email == "bo@book.example"


# --- Defects ---------------------------------------------------------------------------------------------


def test_the_steps_of_a_defect_come_in_the_order_of_their_numbers(sample: Path) -> None:
    steps = Defect.objects.get(ref="d-2").steps.all()
    assert [step.happened_on.day for step in steps] == list(range(1, 11))
    assert steps[9].by.email == "ann@book.example"


def test_a_defect_without_steps_stands_as_it_was_reported(sample: Path, tmp_path: Path) -> None:
    row = "ref,registration,found_on,severity,words\nd-9,QA51ABC,2026-02-01,watch,Squeak\n"
    load(write_archive(tmp_path / "second", {"defects.csv": row}))
    step = Defect.objects.get(ref="d-9").steps.get()
    assert (step.state, step.severity, step.happened_on) == ("open", "watch", date(2026, 2, 1))
    assert step.by.email == "ann@book.example"
    assert load(tmp_path / "second").added["defects.csv"] == 0


def test_a_further_step_must_lead_to_how_the_defect_stands_in_the_book(sample: Path, tmp_path: Path) -> None:
    header = SAMPLE["defect_steps.csv"].partition("\n")[0]
    (told,) = refusal_of(tmp_path, {"defect_steps.csv": f"{header}\nd-3,2,2026-02-01,in_hand,watch,,,,,,\n"})
    assert told == "defect_steps.csv:2: state: is in_hand, but the defect is open (already in the book)"


def test_a_check_and_a_defect_are_in_the_history_as_their_doers(sample: Path) -> None:
    assert WalkaroundCheck.history.get(ref="k-2").history_user.email == "bo@book.example"
    assert Defect.history.get(ref="d-1").history_user.email == "ann@book.example"


# --- History, ownership and effort -----------------------------------------------------------------------


def test_history_says_where_each_row_came_from_and_whose_it_is(sample: Path) -> None:
    cost = CostEntry.history.get(ref="c-4")
    assert (cost.history_type, cost.history_user.email) == ("+", "bo@book.example")
    assert cost.history_change_reason == "Loaded from an archive"
    assert Car.history.get(registration="QA51ABC").history_user is None


def test_agreements_and_values_are_the_keepers(sample: Path) -> None:
    assert Agreement.objects.get(kind="pcp").member.email == "ann@book.example"
    assert Valuation.objects.get().member.email == "ann@book.example"


def test_an_agreement_and_a_value_are_of_whoever_kept_the_car_on_their_day(tmp_path: Path) -> None:
    """Before the first time they are the first keeper's; on a day that is nobody's, of whoever had it last."""
    people = {day: who for who, days in KEPT_BY.items() for day in days}
    files = {
        "members.csv": "email,name,role\nann@book.example,Ann,member\nbo@book.example,Bo,member\n",
        "cars.csv": "registration,keeper_email,fuel,in_service_from\nQA1,bo@book.example,petrol,2024-01-08\n",
        "keepers.csv": "registration,from_on,member_email,to_on\n"
        "QA1,2024-01-08,ann@book.example,2025-03-31\nQA1,2025-05-01,bo@book.example,2025-06-30\n",
        "valuations.csv": "registration,valued_on,value\n" + "".join(f"QA1,{day},1.00\n" for day in people),
        "agreements.csv": "registration,starts_on,kind,price\n" + "".join(f"QA1,{day},owned,1.00\n" for day in people),
    }
    load(write_archive(tmp_path / "handed", files))
    whose = {f"{row.valued_on}": row.member.name for row in Valuation.objects.select_related("member")}
    assert whose == people
    assert {f"{row.starts_on}": row.member.name for row in Agreement.objects.select_related("member")} == people


#: By member, days in and before their time, and after it until the next one's.
KEPT_BY = {
    "Ann": ("2023-12-31", "2024-01-08", "2025-03-31", "2025-04-01", "2025-04-30"),
    "Bo": ("2025-05-01", "2025-06-30", "2025-07-01"),
}


def test_a_later_time_is_compared_with_those_of_the_book(sample: Path, tmp_path: Path) -> None:
    header = "registration,from_on,member_email,to_on\n"
    for row, fault in {
        "QA51ABC,2025-06-01,ann@book.example,": (
            "from_on: 2025-06-01 is not after the start of another time, which has no end (already in the book)"
        ),
        "QA51ABC,2023-12-01,cy@book.example,2024-01-08": (
            "to_on: 2024-01-08 is not before 2024-01-08, when another time begins (already in the book)"
        ),
        "QA51ABC,2023-12-01,cy@book.example,": (
            "to_on: is empty, but another time begins on 2024-01-08 (already in the book)"
        ),
        "QB02XYZ,2025-03-01,cy@book.example,2026-02-28": (
            "member_email: is cy@book.example in the last time, but the car's keeper_email is bo@book.example"
        ),
    }.items():
        with pytest.raises(ArchiveRefused) as refused:
            load(write_archive(tmp_path / "more", {"keepers.csv": f"{header}{row}\n"}))
        assert [str(told) for told in refused.value.faults] == [f"keepers.csv:2: {fault}"]
    early = "QA51ABC,2023-12-01,cy@book.example,2024-01-07\nQB02XYZ,2025-03-01,bo@book.example,2026-01-31\n"
    assert load(write_archive(tmp_path / "more", {"keepers.csv": header + early})).added["keepers.csv"] == 2


def test_the_number_of_reading_queries_does_not_grow_with_the_rows(sample: Path, tmp_path: Path) -> None:
    def queries_for(rows: range) -> int:
        header = SAMPLE["fills.csv"].partition("\n")[0]
        lines = [
            f"n-{n},QA51ABC,ann@book.example,{date(2026, 4, 1) + timedelta(n)},{60_000 + n},1,litre,1,," for n in rows
        ]
        folder = write_archive(tmp_path / f"{len(rows)}", {"fills.csv": "\n".join([header, *lines, ""])})
        with CaptureQueriesContext(connection) as queries:
            assert load(folder).added["fills.csv"] == len(rows)
        # Rows are written some at a time: only what is read must not grow.
        return sum(query["sql"].startswith("SELECT") for query in queries)

    assert queries_for(range(2)) == queries_for(range(2, 302))


def test_a_loaded_book_dumps_as_it_was(sample: Path) -> None:
    assert {name: data.decode() for name, data in dump().files.items()} == SAMPLE
