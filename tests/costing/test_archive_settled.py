"""Payments of what repeats that are settled by costs logged by hand, out of the book and into it."""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from uuid import UUID

import pytest

from costing.actions import change_repeat, log_cost, make_all_due, void_entry
from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.core.repeats import made_ref
from costing.models import CostEntry, Repeat, SettledDue
from costing.planning.report import pot_report
from costing.queries.repeats import awaited_near
from fleet.models import Car
from instructors.models import Member
from tests.conftest import TODAY
from tests.costing.archive_sample import write_archive
from tests.costing.test_archive_dump import reloaded
from tests.factories import CarFactory, CostEntryFactory, RepeatFactory, SettledDueFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

HEAD = "cost_ref,repeat_ref,due_on,amount\n"
LAST = date(2026, 2, 28)
#: The entry that a repeat "r" makes of January.
MADE = made_ref("r", date(2026, 1, 31))


def settled(car: Car, ref: str = "by-hand", **of: object) -> SettledDue:
    """The payment of 28 February, settled by one of £12.90."""
    row = SettledDueFactory.create(
        repeat__car=car, repeat__ref=f"repeat-of-{ref}", cost__ref=ref, cost__member=car.keeper, **of
    )
    assert isinstance(row, SettledDue)
    return row


def texts() -> dict[str, str]:
    return {name: data.decode() for name, data in dump().files.items()}


def faults_of(folder: Path, rows: str, **files: str) -> list[str]:
    with pytest.raises(ArchiveRefused) as refused:
        load(write_archive(folder / "wrong", {"settled.csv": HEAD + rows, **files}))
    return [str(fault) for fault in refused.value.faults]


def test_it_comes_back_to_the_byte_and_the_payment_stays_settled(tmp_path: Path, car: Car) -> None:
    settled(car)
    files = dump().files
    assert files["settled.csv"].decode() == f"{HEAD}by-hand,repeat-of-by-hand,2026-02-28,12.40\n"
    assert reloaded(files, tmp_path) == files
    row = SettledDue.objects.get()
    assert (row.cost.ref, row.cost.repeat, row.member) == ("by-hand", Repeat.objects.get(), row.cost.member)
    assert row.history.get().history_user == row.member
    assert make_all_due(TODAY) == 0


def test_a_payment_that_was_given_back_is_in_no_file_and_stays_away(tmp_path: Path, car: Car) -> None:
    row = settled(car)
    files = texts()
    void_entry(by=car.keeper, entry=row.cost, reason="wrong")
    assert "settled.csv" not in dump().files
    assert load(write_archive(tmp_path / "older", files)).already_known["settled.csv"] == 1
    assert not SettledDue.objects.filter(ended_at=None).exists()


def test_a_later_archive_settles_what_the_book_would_still_make(tmp_path: Path, car: Car) -> None:
    row = settled(car)
    files = texts()
    SettledDue.objects.all().delete()
    CostEntry.objects.all().delete()
    Repeat.objects.update(made_until=date(2026, 1, 31))
    assert load(write_archive(tmp_path / "later", files)).added["settled.csv"] == 1
    assert Repeat.objects.get().made_until == row.due_on
    assert make_all_due(TODAY) == 0


def test_a_member_s_own_archive_has_their_own(car: Car, colleague_car: Car) -> None:
    settled(car, "own")
    settled(colleague_car, "other")
    assert dump(car.keeper).files["settled.csv"].decode() == f"{HEAD}own,repeat-of-own,2026-02-28,12.40\n"


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("c,r,2026-02-28,12.40x", "amount: 12.40x"),
        ("c,r,2026-02-28,0.00", "amount: "),
        ("nobody,r,2026-02-28,12.40", "cost_ref: nobody is no cost of costs.csv or of the book"),
        ("c,nothing,2026-02-28,12.40", "repeat_ref: nothing is no repeat of repeats.csv or of the book"),
        ("c,r,2026-02-27,12.40", "due_on: 2026-02-27 is no day on which r falls due"),
        ("c,r,2026-03-31,12.40", "due_on: 2026-03-31 is after made_until of r"),
        ("c,new,2026-01-31,12.40", "due_on: 2026-01-31 is after made_until of new"),
        ("c,r,2026-01-31,12.40", "due_on: 2026-01-31: the entry that r made of it stands too"),
        ("voided,r,2026-02-28,12.40", "cost_ref: voided was voided in the book"),
        ("refund,r,2026-02-28,12.40", "cost_ref: refund is a refund"),
        ("elsewhere,r,2026-02-28,12.40", "cost_ref: elsewhere has another registration than r"),
        (f"{MADE},r,2026-02-28,12.40", f"cost_ref: {MADE} is what r made, and stands for its own day"),
        ("tyres,r,2026-02-28,12.40", "cost_ref: tyres has another category than r"),
        ("of-old,old,2026-02-28,12.40\nc,old,2026-02-28,12.40", "due_on: 2026-02-28 is settled in the book already"),
    ],
)
def test_a_row_that_cannot_be_is_told_at_its_place(
    tmp_path: Path, car: Car, keeper: Member, row: str, fault: str
) -> None:
    def cost(ref: str, **of: object) -> None:
        fields = {"car": car, "category": "breakdown_cover", "paid_on": LAST, "ref": ref, **of}
        CostEntryFactory.create(**fields)

    RepeatFactory.create(car=car, ref="r", made_until=LAST)
    RepeatFactory.create(car=car, ref="new")
    SettledDueFactory.create(repeat__car=car, repeat__ref="old", cost__ref="of-old")
    cost("c")
    cost(MADE, paid_on=date(2026, 1, 31))
    cost("voided", voided_at="2026-03-01T09:00Z")
    cost("refund", amount="-12.40")
    cost("elsewhere", car=CarFactory.create(keeper=keeper))
    cost("tyres", category="tyres")
    told = faults_of(tmp_path, f"{row}\n")
    assert [one.partition(": ")[2].startswith(fault.partition(":")[0]) for one in told] == [True]
    line = 1 + len(row.splitlines())
    assert told[0].startswith(f"settled.csv:{line}: {fault}") or fault.endswith("x")


def test_two_rows_of_one_payment_are_one_too_many(tmp_path: Path, car: Car) -> None:
    RepeatFactory.create(car=car, ref="r", made_until=LAST)
    for ref in ("a", "b"):
        CostEntryFactory.create(car=car, category="breakdown_cover", paid_on=LAST, ref=ref)
    rows = "a,r,2026-02-28,12.40\nb,r,2026-02-28,12.40\n"
    assert faults_of(tmp_path, rows) == ["settled.csv:3: due_on: 2026-02-28 is settled in line 2 already"]


def test_a_fault_in_another_file_makes_none_here(tmp_path: Path, car: Car) -> None:
    settled(car)
    files = texts()
    SettledDue.objects.all().delete()
    CostEntry.objects.all().delete()
    wrong = files["costs.csv"].replace("12.90", "x")
    told = faults_of(tmp_path, files["settled.csv"].partition("\n")[2], **{"costs.csv": wrong})
    assert [one.partition(": ")[0] for one in told] == ["costs.csv:2"]


# --- At random -----------------------------------------------------------------------------------------------


def figures(member: Member) -> tuple[object, object]:
    """The bills and the weekly sum of the pot, and what is in the book."""
    report = pot_report(member, TODAY)
    costs = CostEntry.objects.standing().order_by("paid_on", "amount", "category")
    paid = list(costs.values_list("paid_on", "category", "amount", "covers_from", "covers_to"))
    return (report.bills, report.smallest, report.standing), paid


def settle_something(chance: Random, member: Member, car: Car) -> None:
    """Log a cost in place of a payment near some day, or one that looks the same as a payment."""
    on = TODAY - timedelta(days=chance.randrange(150))
    if near := awaited_near(member, car, on):
        one = chance.choice(near)
        pence = one.due.amount + chance.choice([0, 0, 210, -150])
        log_cost(
            by=member,
            car=car,
            ref=str(UUID(int=chance.getrandbits(128))),
            paid_on=on,
            category=one.repeat.category,
            amount=Decimal(pence) / 100,
            in_place_of=one.ref if chance.random() < 0.7 else "",
        )


def give_something_back(chance: Random, member: Member) -> None:
    """Void a cost that settles a payment."""
    if rows := list(SettledDue.objects.filter(ended_at=None).order_by("due_on", "cost__ref").select_related("cost")):
        void_entry(by=member, entry=chance.choice(rows).cost, reason="wrong")


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_settled_and_given_back_the_pot_is_the_same_after_a_round_trip(
    tmp_path: Path, car: Car, keeper: Member, seed: int
) -> None:
    chance = Random(seed)  # noqa: S311 - a test that is the same each time
    for number, category in enumerate(("insurance", "breakdown_cover", "cleaning")):
        interval = chance.choice(["week", "month", "quarter"])
        first = TODAY - timedelta(days=chance.randrange(60, 300))
        of = {
            "category": category,
            "interval": interval,
            "starts_on": first,
            "amount": Decimal(chance.randrange(9, 90)),
        }
        RepeatFactory.create(car=car, ref=f"r-{number}", covers_its_days=chance.random() < 0.5, **of)
    make_all_due(TODAY - timedelta(days=40))
    for step in range(10):
        match chance.randrange(4):
            case 0 | 1:
                settle_something(chance, keeper, car)
            case 2:
                give_something_back(chance, keeper)
            case _:
                make_all_due(TODAY)
        if chance.random() < 0.3:
            before, files = figures(keeper), dump().files
            assert reloaded(files, tmp_path / str(step)) == files
            keeper, car = Member.objects.get(email=keeper.email), Car.objects.get(registration=car.registration)
            assert figures(keeper) == before
            assert make_all_due(TODAY - timedelta(days=40)) == 0


def test_given_back_after_a_round_trip_it_is_what_it_would_have_been_without(
    tmp_path: Path, car: Car, keeper: Member
) -> None:
    """One that the book had made comes back with its own sum, though that has changed and its entry is in no file."""
    repeat = RepeatFactory.create(car=car)
    make_all_due(TODAY)
    (due,) = (one.ref for one in awaited_near(keeper, car, LAST))
    fields = {"paid_on": LAST, "category": "breakdown_cover", "amount": Decimal("12.90"), "in_place_of": due}
    log_cost(by=keeper, car=car, ref="by-hand", **fields)
    change_repeat(by=keeper, repeat=repeat, amount=Decimal(15), from_on=date(2026, 3, 31))
    files = dump().files
    assert reloaded(files, tmp_path) == files
    cost = CostEntry.objects.get(ref="by-hand")
    void_entry(by=cost.member, entry=cost, reason="wrong")
    paid = CostEntry.objects.standing().order_by("paid_on").values_list("paid_on", "amount")
    assert list(paid) == [(date(2026, 1, 31), Decimal("12.40")), (LAST, Decimal("12.40"))]
