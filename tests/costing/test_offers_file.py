"""An offers file: what is read, and every fault by its key and its line."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from config import budgets
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import read_table
from costing.choosing.document.toml import BadFile, lines_of_places, read_file
from tests.costing.offers_faults import CASES, SAMPLE


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "offers.toml"


def faults_of(path: Path, text: str | bytes) -> list[str]:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(BadFile) as bad:
        read_file(path, nation="GB")
    return bad.value.faults


def test_a_comparison_over_one_month_is_spoken_of_as_one(path: Path) -> None:
    words = {fault.split(": ")[2] for fault in faults_of(path, SAMPLE.replace("months = 24", "months = 1"))}
    assert {"is after the month compared", "begins after the month compared"} <= words


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

    case, assumed = read_file(path, nation="GB")
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

    assert len(read_file(path, nation="GB").case.offers) == 3


def test_another_encoding_is_told_by_its_line(path: Path) -> None:
    [fault] = faults_of(path, SAMPLE.replace("Hatchback", "Coupé").encode("latin-1"))

    assert fault.startswith("offers.toml:25: this isn’t UTF-8 text")


def test_a_file_that_breaks_off_is_told_by_its_last_line(path: Path) -> None:
    [fault] = faults_of(path, '[use]\nname = """\nnever closed\n')

    assert fault.startswith("offers.toml:")
    assert "this isn’t TOML" in fault


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("9" * 41, "a number or word has more than 40 characters"),
        ("1e999", "too large a power of ten"),
        ("[" * 7 + "]" * 7, "more than 6 brackets are nested"),
        ("{ a.b.c.d.e = 1 }", "a key has more than 4 parts"),
        ('"' + "x" * 2_000 + '"', "this line has more than 2,000 characters"),
    ],
)
def test_what_would_take_a_reader_of_toml_long_is_refused_unread(path: Path, value: str, words: str) -> None:
    [fault] = faults_of(path, f"[use]\nmonths = {value}\n".encode())

    assert fault == f"offers.toml:2: {fault.split(': ')[1].split(';')[0]}; nothing of the file was read"
    assert words in fault


def test_what_only_stands_in_words_and_remarks_is_no_bracket_or_key(path: Path) -> None:
    words = "a.b.c.d.e.f [[[[[[[[[ {{{{{{{{{ 1e999"
    text = SAMPLE.replace('"Estate"', f'"Estate {words}"').replace('"Hatchback on PCP"', "'Hatchback on PCP'")
    path.write_text(f"# {words} {'9' * 99}\n{text}")

    assert read_file(path, nation="GB").case.offers[2].name == f"Estate {words}"


def test_a_file_that_is_too_large_is_not_read(path: Path) -> None:
    [fault] = faults_of(path, SAMPLE + "#" * budgets.OFFERS_FILE_BYTES)

    assert "This is too large for an offers file: at most 200 kB." in fault


@pytest.mark.parametrize(
    ("name", "most"),
    [("offer", budgets.OFFERS_IN_A_FILE), ("what_if", budgets.WHAT_IFS), ("uncertain", budgets.RANGES)],
)
def test_a_list_that_is_too_long_is_told_once(path: Path, name: str, most: int) -> None:
    faults = faults_of(path, SAMPLE + f'[[{name}]]\nname = "x"\n' * most)

    count = SAMPLE.count(f"[[{name}]]") + most
    assert [fault.split(": ", 1)[1] for fault in faults] == [
        f"{name}: there are {count}: write [[{name}]] at most {most} times"
    ]


def test_as_many_as_may_be_are_taken(path: Path) -> None:
    more = range(budgets.OFFERS_IN_A_FILE - 3)
    offers = "".join(f'[[offer]]\nname = "{n}"\nkind = "owned"\nprice = 1\n' for n in more)
    changes = "".join(f'[[what_if]]\nname = "{n}"\nleave_at_month = 9\n' for n in range(budgets.WHAT_IFS - 2))
    path.write_text(SAMPLE + offers + changes)

    case = read_file(path, nation="GB").case
    assert (len(case.offers), len(case.what_ifs)) == (budgets.OFFERS_IN_A_FILE, budgets.WHAT_IFS)


def test_of_very_many_faults_the_first_are_told_and_how_many_there_are(path: Path) -> None:
    faults = faults_of(path, SAMPLE.replace("[running]", "".join(f"key{n} = 1\n" for n in range(150)) + "[running]"))

    assert len(faults) == budgets.OFFERS_FAULTS + 1
    assert faults[-1] == "offers.toml: and 50 more"


def test_a_fault_is_one_line_whatever_the_key_says(path: Path) -> None:
    [fault] = faults_of(path, SAMPLE + f'[weather]\n"a\\nb\\u001b{"c" * 300}" = 1\n'.replace("[weather]", "[use.x]"))

    assert fault.isprintable()
    assert len(fault) < 300


@pytest.mark.parametrize(
    "value",
    [Decimal("1e99999999"), Decimal("1e-99999999"), Decimal("1e30"), 10**4_000],
    ids=["huge", "tiny", "many digits", "thousands of digits"],
)
def test_a_number_beyond_all_reckoning_is_refused_from_wherever_it_comes(value: Decimal | int) -> None:
    with pytest.raises(Unreadable) as bad:
        read_table("offer", {"name": "Estate", "kind": "owned", "price": value}, ("offer", 0))
    (fault,) = bad.value.faults
    assert fault.words.startswith(("is not a number that can be reckoned with", "is more than £9,999,999.99"))
    assert len(fault.words) < 100


def test_what_is_not_there_or_not_a_file_is_told(tmp_path: Path) -> None:
    for place, words in ((tmp_path / "none.toml", "No such file"), (tmp_path, "Is a directory")):
        with pytest.raises(BadFile) as bad:
            read_file(place, nation="GB")
        [fault] = bad.value.faults
        assert "cannot be read" in fault
        assert words in fault


def test_what_is_not_given_is_named(path: Path) -> None:
    short = "\n".join(
        line for line in SAMPLE.splitlines() if not line.startswith(("mot", "tyre_set =", "early", "value_"))
    )
    path.write_text(short)

    assert read_file(path, nation="GB").assumed == (
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

    assert read_file(path, nation="GB").assumed == (("offer 1, value_at_horizon",) if is_told else ())


def test_a_weekly_rental_is_paid_by_the_week_unless_it_says_otherwise(path: Path) -> None:
    path.write_text(SAMPLE.replace('frequency = "week"\n', ""))
    assert [offer.frequency for offer in read_file(path, nation="GB").case.offers] == ["month", "week", "month"]

    path.write_text(SAMPLE.replace('frequency = "week"', 'frequency = "month"'))
    assert read_file(path, nation="GB").case.offers[1].frequency == "month"


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
