"""An offers file: what is read, and every fault by its key and its line."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from config import budgets
from costing.choosing.core.case import Chance, Fuel, Offer, Running, Uncertain, Use
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.tables import read_tables
from costing.choosing.document.toml import BadFile, lines_of_places, read_file
from tests.costing.offers_faults import CASES
from tests.costing.offers_sample import SAMPLE


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "offers.toml"


def faults_of(path: Path, text: str | bytes) -> list[str]:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(BadFile) as bad:
        read_file(path, nation="GB")
    return bad.value.faults


def test_a_comparison_over_one_month_is_spoken_of_as_one(path: Path) -> None:
    words = [fault.split(": ", 2)[2] for fault in faults_of(path, SAMPLE.replace("months = 36", "months = 1"))]
    assert words == [
        "makes no sense: nobody can leave a comparison of one month early",
        "is after the month compared",
    ]


@pytest.mark.parametrize("name", CASES)
def test_a_fault_names_its_line_and_its_key(path: Path, name: str) -> None:
    case = CASES[name]
    [line] = [number for number, line in enumerate(case.text.splitlines(), 1) if "#!" in line]

    [fault] = faults_of(path, case.text)
    assert fault.startswith(f"offers.toml:{line}: {case.key}: " if case.key else f"offers.toml:{line}: ")
    assert case.words in fault


def test_all_faults_are_told_at_once_in_the_order_of_the_file(path: Path) -> None:
    spoilt = SAMPLE.replace("payments = 42", "payments = 0").replace("months = 36", "months = 0")

    faults = faults_of(path, spoilt.replace("mot = 54.85", "mot = true"))
    assert [fault.split(": ")[:2] for fault in faults] == [
        ["offers.toml:3", "use, months"],
        ["offers.toml:21", "running, mot"],
        ["offers.toml:54", "offer 2, payments"],
    ]


def test_what_is_wrong_beside_something_else_is_told_along_with_what_is_wrong_by_itself(path: Path) -> None:
    spoilt = SAMPLE.replace("payments = 42", "payments = 0").replace("deposit = 2350.00", "deposit = 23500.00")

    assert [fault.split(": ")[1] for fault in faults_of(path, spoilt)] == ["offer 1, deposit", "offer 2, payments"]


def test_a_whole_file_is_read_exactly(path: Path) -> None:
    path.write_text(SAMPLE)

    case = read_file(path, nation="NI")
    pcp, hire, estate = case.offers
    assert case.use == Use(
        starts_on=date(2027, 3, 8),
        months=36,
        miles_per_year=Fraction(31_000),
        private_miles_per_year=Fraction(4_500),
        lesson_hours_per_week=Fraction(59, 2),
        weeks_taught_per_year=Fraction(44),
        lesson_hour_price=41_00,
        discount_rate=Fraction(3, 100),
        marginal_tax_rate=Fraction(7, 25),
        cash_in_hand=5_250_00,
        put_by_per_month=480_00,
        leaving=(Chance(11, Fraction(3, 20)), Chance(23, Fraction(1, 5))),
        nation="NI",
    )
    assert case.running.fuel == (Fuel(Fraction(293, 2), "litre", Fraction(52)),)
    assert (case.running.insurance, case.running.repairs_per_year) == ((1_260_00, 1_085_00, 940_00), 455_00)
    assert (pcp.value_now, pcp.value_at_horizon, pcp.quoted_apr) == (19_900_00, 11_800_00, Fraction(59, 10))
    assert pcp.running == Running(fuel=(Fuel(Fraction(24), "kwh", Fraction(41, 10)),), repairs_per_year=240_00)
    assert (hire.early_exit, hire.frequency, hire.then) == (("share_of_remaining", Fraction(1, 2)), "month", None)
    assert hire.includes == {"vehicle_tax", "breakdown", "servicing", "tyres"}
    assert (estate.first_registered, estate.value_now, estate.damage) == (None, None, None)
    assert [change.off for change in case.what_ifs] == [(31, 9), None]
    assert case.uncertain == (
        Uncertain("repairs_per_year", ((180_00, 455_00, 1_600_00),)),
        Uncertain("pence_per_kwh", ((Fraction(17, 2), 24, 64),), "Electric supermini on PCP"),
        Uncertain("miles_per_year", ((24_000, 31_000, 36_000),)),
        Uncertain("value_at_horizon", ((1_900_00, 2_900_00, 3_400_00),), "Estate"),
    )


def test_what_nobody_has_told_is_not_told_and_not_nothing(path: Path) -> None:
    path.write_text(SAMPLE[: SAMPLE.index("cash_in_hand")] + '[[offer]]\nname = "Estate"\nkind = "owned"\nprice = 0\n')

    case = read_file(path, nation="GB")
    assert case.running == Running()
    assert (case.use.cash_in_hand, case.use.leaving, case.uncertain) == (None, (), ())
    assert case.offers == (Offer("Estate", "owned", price=0),)


def test_one_sum_for_insurance_stands_for_every_year(path: Path) -> None:
    premiums = "insurance = [1260.00, 1085.00, 940.00]"
    path.write_text(SAMPLE.replace(premiums, "insurance = { low = 900.00, likely = 1000.00, high = 1300.00 }"))

    case = read_file(path, nation="GB")
    assert case.running.insurance == (1_000_00,)
    assert case.uncertain[0] == Uncertain("insurance", ((900_00, 1_000_00, 1_300_00),))


def test_the_years_of_insurance_are_drawn_together(path: Path) -> None:
    """A year without a range of its own goes on as it is; an [[uncertain]] is of the first year."""
    ranged = SAMPLE.replace("[1260.00, 1085.00,", "[1260.00, { low = 900.00, likely = 1085.00, high = 1100.00 },")
    path.write_text(ranged)
    one = read_file(path, nation="GB").uncertain[0]
    assert one.spreads == ((1_260_00,) * 3, (900_00, 1_085_00, 1_100_00), (940_00,) * 3)

    of_the_first = '[[uncertain]]\ninput = "insurance"\nlow = 630.00\nlikely = 1260.00\nhigh = 2520.00\n'
    path.write_text(SAMPLE + of_the_first)
    one = read_file(path, nation="GB").uncertain[-1]
    assert one.spreads == tuple((year // 2, year, year * 2) for year in (1_260_00, 1_085_00, 940_00))


def test_a_range_of_insurance_that_nobody_has_told_or_that_is_nothing_stands_for_itself(path: Path) -> None:
    row = '[[uncertain]]\ninput = "insurance"\nlow = 1.00\nlikely = 2.00\nhigh = 3.00\n'
    premiums = "insurance = [1260.00, 1085.00, 940.00]\n"
    for told, years in (("", 1), ("insurance = [0.00, 0.00]\n", 2)):
        path.write_text(SAMPLE.replace(premiums, told) + row)
        assert read_file(path, nation="GB").uncertain[-1].spreads == ((1_00, 2_00, 3_00),) * years


def test_a_range_finds_its_fuel_among_two(path: Path) -> None:
    two = (
        "fuel = [{ mpg = 44, pence_per_litre = 150, share = 0.6 },"
        " { miles_per_kwh = 3, pence_per_kwh = 28, share = 0.4 }]"
    )
    row = '[[uncertain]]\ninput = "pence_per_kwh"\nlow = 8\nlikely = 28\nhigh = 70\n'
    path.write_text(SAMPLE.replace("fuel = { mpg = 52.0, pence_per_litre = 146.5 }", two) + row)

    case = read_file(path, nation="GB")
    assert [(fuel.unit, fuel.share) for fuel in case.running.fuel or ()] == [
        ("litre", Fraction(3, 5)),
        ("kwh", Fraction(2, 5)),
    ]
    assert case.uncertain[-1] == Uncertain("pence_per_kwh", ((8, 28, 70),), at=1)


def test_an_offer_that_tells_its_fuel_in_either_form_replaces_both(path: Path) -> None:
    row = '[[uncertain]]\ninput = "fuel_pence_per_mile"\noffer = "Estate"\nlow = 9\nlikely = 12\nhigh = 15\n'
    estate = "value_at_horizon = 2900.00\n  [offer.running]\n  fuel_pence_per_mile = 12.5\n"
    path.write_text(SAMPLE.replace("value_at_horizon = 2900.00\n", estate) + row)

    case = read_file(path, nation="GB")
    assert case.running_of(case.offers[2]).fuel == (Fuel(Fraction(25, 2)),)
    assert case.uncertain[-1] == Uncertain("fuel_pence_per_mile", ((9, 12, 15),), "Estate")


def test_a_line_is_found_inside_an_offers_own_table(path: Path) -> None:
    spoilt = SAMPLE.replace("  repairs_per_year = 240.00", "  [offer.running.mot]\n  low = 3")
    [fault] = faults_of(path, spoilt)
    assert fault.startswith("offers.toml:47: offer 1, running, mot: must be written like { low = 150.00")


def test_a_mark_at_the_start_of_the_file_is_passed_over(path: Path) -> None:
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.replace("\n", "\r\n").encode())

    assert len(read_file(path, nation="GB").offers) == 3


def test_another_encoding_is_told_by_its_line(path: Path) -> None:
    [fault] = faults_of(path, SAMPLE.replace("Saloon", "Coupé").encode("latin-1"))

    assert fault.startswith("offers.toml:50: this isn’t UTF-8 text")


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
    text = (
        SAMPLE.replace('"Estate"', f'"Estate {words}"')
        .replace('"Saloon on', "'Saloon on")
        .replace('hire"\n', "hire'\n", 1)
    )
    path.write_text(f"# {words} {'9' * 99}\n{text}")

    assert read_file(path, nation="GB").offers[2].name == f"Estate {words}"


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

    case = read_file(path, nation="GB")
    assert (len(case.offers), len(case.what_ifs)) == (budgets.OFFERS_IN_A_FILE, budgets.WHAT_IFS)


@pytest.mark.parametrize(
    ("most", "key"), [(1, "offer 1, running, fuel"), (2, "uncertain 1, input"), (3, "uncertain 2, input")]
)
def test_ranges_are_counted_wherever_they_are_told(
    path: Path, monkeypatch: pytest.MonkeyPatch, most: int, key: str
) -> None:
    monkeypatch.setattr(budgets, "RANGES", most)
    inside = "fuel = { miles_per_kwh" if most == 1 else 'input = "' + ("miles" if most == 2 else "value")
    [line] = [number for number, text in enumerate(SAMPLE.splitlines(), 1) if text.strip().startswith(inside)]

    words = f"is one range too many, of 4 in all: at most {most} can be worked out"
    assert faults_of(path, SAMPLE) == [f"offers.toml:{line}: {key}: {words}"]


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
        read_tables({"offer": [{"name": "Estate", "kind": "owned", "price": value}]})
    fault, missing = bad.value.faults
    assert (fault.key, missing.key) == ("offer 1, price", "use")
    assert fault.words.startswith(("is not a number that can be reckoned with", "is more than £9,999,999.99"))
    assert len(fault.words) < 100


def test_what_is_not_there_or_not_a_file_is_told(tmp_path: Path) -> None:
    for place, words in ((tmp_path / "none.toml", "No such file"), (tmp_path, "Is a directory")):
        with pytest.raises(BadFile) as bad:
            read_file(place, nation="GB")
        [fault] = bad.value.faults
        assert "cannot be read" in fault
        assert words in fault


def test_a_weekly_rental_is_paid_by_the_week_unless_it_says_otherwise(path: Path) -> None:
    rental = SAMPLE.replace('"contract_hire"', '"weekly_rental"')
    path.write_text(rental)
    assert [offer.frequency for offer in read_file(path, nation="GB").offers] == ["month", "week", "month"]

    path.write_text(rental.replace("payments = 42", 'payments = 42\nfrequency = "month"'))
    assert read_file(path, nation="GB").offers[1].frequency == "month"


def test_lines_are_found_in_every_way_to_write_a_key() -> None:
    use = "[use]\n\"months\" = 1\n'starts_on' = 2\nearly.kind = 3\n"

    places = lines_of_places(use + '[[offer]]\na = """\n[[offer]]\nb = 1\n"""\n[[offer]]\nc = 1\n')
    assert places["use", "months"] == 2
    assert places["use", "starts_on"] == 3
    assert places["use", "early"] == 4
    assert places["offer", 0, "a"] == 6
    assert ("offer", 0, "b") not in places
    assert (places["offer", 1], places["offer", 1, "c"]) == (10, 11)
