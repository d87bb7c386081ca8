"""An offers file: what is read, and every fault by its key and its line."""

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from costing.offers.faults import Unreadable
from costing.offers.file import BadFile, lines_of_places, read_file
from costing.offers.reading import read_table
from tests.costing.offers_faults import CASES, SAMPLE


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "offers.toml"


def faults_of(path: Path, text: str | bytes) -> list[str]:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(BadFile) as bad:
        read_file(path)
    return bad.value.faults


@pytest.mark.parametrize("name", CASES)
def test_a_fault_names_its_line_and_its_key(path: Path, name: str) -> None:
    case = CASES[name]
    [line] = [number for number, line in enumerate(case.text.splitlines(), 1) if "#!" in line]

    [fault] = faults_of(path, case.text)
    assert fault.startswith(f"offers.toml:{line}: {case.key}: " if case.key else f"offers.toml:{line}: ")
    assert case.words in fault


def test_all_faults_are_told_at_once_in_the_order_of_the_file(path: Path) -> None:
    spoilt = SAMPLE.replace("payments = 104", "payments = 0").replace("months = 24", "months = 0")

    faults = faults_of(path, spoilt.replace("mot = 54.85", "mot = true"))
    assert [fault.split(": ")[:2] for fault in faults] == [
        ["offers.toml:3", "use, months"],
        ["offers.toml:17", "running, mot"],
        ["offers.toml:43", "offer 2, payments"],
    ]


def test_what_is_wrong_beside_something_else_is_told_along_with_what_is_wrong_by_itself(path: Path) -> None:
    spoilt = SAMPLE.replace("payments = 104", "payments = 0").replace("deposit = 1200.00", "deposit = 12000.00")

    assert [fault.split(": ")[1] for fault in faults_of(path, spoilt)] == ["offer 1, deposit", "offer 2, payments"]


def test_a_whole_file_is_read_exactly(path: Path) -> None:
    path.write_text(SAMPLE)

    case, assumed = read_file(path)
    pcp, rental, estate = case.offers
    assert (case.use.starts_on, case.use.months, case.use.lesson_hour_price) == (date(2027, 1, 1), 24, 3_800)
    assert case.use.marginal_tax_rate == Fraction(13, 50)
    assert (case.running.insurance, case.running.mot) == ((91_000, 79_000), 5_485)
    assert (pcp.price, pcp.payments, pcp.frequency, pcp.quoted_apr) == (1_180_000, 36, "month", Fraction(119, 10))
    assert rental.early_exit == ("weeks", 8)
    assert (estate.includes, estate.first_registered) == (frozenset(), None)
    assert case.what_ifs[0].off == (20, 6)
    assert case.uncertain[0] == ("repairs_per_year", 15_000, 40_000, 140_000, "")
    assert assumed == ()


def test_a_mark_at_the_start_of_the_file_is_passed_over(path: Path) -> None:
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.replace("\n", "\r\n").encode())

    assert len(read_file(path).case.offers) == 3


def test_another_encoding_is_told_by_its_line(path: Path) -> None:
    [fault] = faults_of(path, SAMPLE.replace("Hatchback", "Coupé").encode("latin-1"))

    assert fault.startswith("offers.toml:25: the file is not UTF-8 text")


def test_a_file_that_breaks_off_is_told_by_its_last_line(path: Path) -> None:
    [fault] = faults_of(path, '[use]\nname = """\nnever closed\n')

    assert fault.startswith("offers.toml:")
    assert "this is not TOML" in fault


@pytest.mark.parametrize("value", ["9" * 5_000, "[" * 5_000 + "]" * 5_000])
def test_what_no_reader_of_toml_takes_is_refused(path: Path, value: str) -> None:
    [fault] = faults_of(path, f"[use]\nmonths = {value}\n".encode())

    assert "this cannot be read as TOML" in fault


def test_what_is_not_there_or_not_a_file_is_told(tmp_path: Path) -> None:
    for place, words in ((tmp_path / "none.toml", "No such file"), (tmp_path, "Is a directory")):
        with pytest.raises(BadFile) as bad:
            read_file(place)
        [fault] = bad.value.faults
        assert "cannot be read" in fault
        assert words in fault


def test_what_is_not_given_is_named(path: Path) -> None:
    short = "\n".join(
        line for line in SAMPLE.splitlines() if not line.startswith(("mot", "tyre_set =", "early", "value_"))
    )
    path.write_text(short)

    assert read_file(path).assumed == (
        "running, mot",
        "running, tyre_set",
        "offer 1, value_at_horizon",
        "offer 2, early_exit",
        "offer 3, value_at_horizon",
    )


@pytest.mark.parametrize(
    ("payments", "leave", "is_told"), [(24, 24, False), (24, 9, True), (36, 24, True), (104, 24, True)]
)
def test_the_value_of_a_car_to_be_handed_back_is_missed_only_if_it_may_be_sold(
    path: Path, payments: int, leave: int, is_told: bool
) -> None:
    text = SAMPLE.replace("payments = 36", f"payments = {payments}").replace('"sell"', '"hand_back"')
    path.write_text(text.replace("value_at_horizon = 6900.00\n", "").replace("month = 9", f"month = {leave}"))

    assert read_file(path).assumed == (("offer 1, value_at_horizon",) if is_told else ())


def test_a_weekly_rental_is_paid_by_the_week_unless_it_says_otherwise(path: Path) -> None:
    path.write_text(SAMPLE.replace('frequency = "week"\n', ""))
    assert [offer.frequency for offer in read_file(path).case.offers] == ["month", "week", "month"]

    path.write_text(SAMPLE.replace('frequency = "week"', 'frequency = "month"'))
    assert read_file(path).case.offers[1].frequency == "month"


def test_lines_are_found_in_every_way_to_write_a_key() -> None:
    use = "[use]\n\"months\" = 1\n'starts_on' = 2\nearly.kind = 3\n"

    places = lines_of_places(use + '[[offer]]\na = """\n[[offer]]\nb = 1\n"""\n[[offer]]\nc = 1\n')
    assert places["use", "months"] == 2
    assert places["use", "starts_on"] == 3
    assert places["use", "early"] == 4
    assert places["offer", 0, "a"] == 6
    assert ("offer", 0, "b") not in places
    assert (places["offer", 1], places["offer", 1, "c"]) == (10, 11)


def test_one_table_is_read_by_itself() -> None:
    offer = read_table("offer", {"name": "Estate", "kind": "owned", "price": 7200}, ("offer", 3))

    assert offer["price"] == 720_000
    with pytest.raises(Unreadable) as bad:
        read_table("offer", {"name": "Estate", "kind": "owned"}, ("offer", 3))
    assert [fault.key for fault in bad.value.faults] == ["offer 4, price"]
