"""What can be read out of the text of a quote. Every quote here is made up."""

from random import Random
from time import process_time

import pytest

from costing.choosing.document.quote_text import Doubt, read_quote


def values(text: str) -> dict[str, str]:
    """The values found, by key; "" where somebody has to look."""
    return {key: finding.value for key, finding in read_quote(text).items()}


PCP = {
    "price": "12640.00",
    "deposit": "1850.00",
    "payment": "214.37",
    "frequency": "month",
    "payments": "41",
    "final_payment": "4975.00",
    "quoted_apr": "7.4",
    "mileage_allowance": "14000",
    "excess_pence_per_mile": "8.5",
}


@pytest.mark.parametrize(
    "text",
    [
        # A table of labels and figures.
        """Your quote
        Cash price: £12,640.00
        Customer deposit: £1,850.00
        Amount of credit: £10,790.00
        41 monthly payments of £214.37
        Optional final payment: £4,975.00
        Total amount payable: £15,614.17
        Representative APR 7.4%
        Annual mileage: 14,000
        Excess mileage charge: 8.5p per mile""",
        # One long sentence.
        "The cash price is £12,640.00. You pay a deposit of £1,850.00, then 41 monthly payments of £214.37 and a "
        "balloon of £4,975.00. 7.4% APR representative, 14,000 miles a year, then 8.5 pence a mile.",
        # Sums first.
        "£12,640.00 cash price; £1,850.00 deposit; £214.37 a month x 41 payments; £4,975.00 final payment; "
        "7.4% APR; 14,000 miles per annum; 8.5ppm excess",
        # Copied from a table, with figures below their labels.
        """Cash price
        £12,640.00

        Deposit
        £1,850.00
        Number of monthly payments
        41
        Monthly payment
        £214.37
        Guaranteed future value
        £4,975.00
        APR
        7.4%
        Annual mileage allowance
        14,000 miles
        Cost of each extra mile
        8.5p""",
        # Copied from a table, with tabs.
        "Cash price\t£12,640.00\tDeposit\t£1,850.00\n41 x £214.37 per month\nBalloon\t£4,975.00\n"
        "APR (fixed)\t7.4 %\nMileage\t14,000 miles p.a.\nAdditional miles\t£0.085 per mile".replace("0.085", "0.09"),
    ],
)
def test_one_quote_in_many_wordings(text: str) -> None:
    expected = PCP | ({"excess_pence_per_mile": "9"} if "£0.09" in text else {})
    assert values(text) == expected


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("deposit £999 then £210.50 x 47", {"deposit": "999", "payment": "210.50", "payments": "47"}),
        ("£210.50x47 months, £999 deposit", {"payment": "210.50", "payments": "47", "deposit": "999"}),
        ("Weekly rent £147.50 all in, minimum term 26 weeks", {"payment": "147.50", "frequency": "week"}),
        (
            "£147.50 per week for 26 weeks, refundable deposit £200",
            {"payment": "147.50", "frequency": "week", "payments": "26", "deposit": "200"},
        ),
        ("£147pw for 1 year", {"payment": "147", "frequency": "week", "payments": "52"}),
        ("Rent: 147 pounds", {}),
        ("£232pcm over 4 years", {"payment": "232", "frequency": "month", "payments": "48"}),
        ("£232/month, 48-month agreement", {"payment": "232", "frequency": "month", "payments": "48"}),
        ("Term (months): 48", {"payments": "48"}),
        ("Profile: 3+47", {"payments": "47"}),
        ("£232 x 48 = £11,136", {"payments": "48"}),
        ("48 equal monthly instalments of GBP 232.10", {"payments": "48", "payment": "232.10", "frequency": "month"}),
        (
            "£900 down, 36 x £268.40, £1 fee to buy",
            {"deposit": "900", "payments": "36", "payment": "268.40", "final_payment": "1"},
        ),
        ("Documentation fee £125", {"fees": "125"}),
        ("On the road price £17,995", {"price": "17995"}),
        ("Option to purchase fee: £10.00", {"final_payment": "10.00"}),
        ("Part-exchange £2,300", {"deposit": "2300"}),
        ("Initial rental £1,392.00", {"deposit": "1392.00"}),
        ("12k miles per year", {"mileage_allowance": "12000"}),
        ("Annual percentage rate: 12.9%", {"quoted_apr": "12.9"}),
        ("Additional miles at 11 pence per mile", {"excess_pence_per_mile": "11"}),
    ],
)
def test_other_usual_wordings(text: str, found: dict[str, str]) -> None:
    assert found.items() <= values(text).items() if "minimum term" in text else values(text) == found


@pytest.mark.parametrize(
    ("text", "key", "doubt"),
    [
        # Two sums that could be the deposit.
        ("Customer deposit £1,000. Total deposit £1,500.", "deposit", Doubt.MANY),
        ("Your deposit £1,000, dealer deposit contribution £500", "deposit", Doubt.MANY),
        ("1 first payment of £204.00, 34 payments of £189.00", "payment", Doubt.MANY),
        ("£148 to £162 a week", "payment", Doubt.MANY),
        ("Between £148 and £162 a week", "payment", Doubt.MANY),
        ("Balloon £4,975 and option to purchase fee £10", "final_payment", Doubt.MANY),
        ("9.9% APR representative; your APR 7.4%", "quoted_apr", Doubt.MANY),
        ("over 36 months, or over 48 months", "payments", Doubt.MANY),
        ("£232.00 + VAT per month", "payment", Doubt.WITHOUT_VAT),
        ("Monthly rental £232.00 plus VAT", "payment", Doubt.WITHOUT_VAT),
        ("Monthly rental £232.00. All rentals are subject to VAT.", "payment", Doubt.WITHOUT_VAT),
        ("Initial rental £900, monthly rental £300, term 36 months", "payments", Doubt.FIRST_RENTAL),
        ("£136 a week for 18 months", "payments", Doubt.OTHER_UNIT),
    ],
)
def test_what_could_be_read_in_two_ways_is_left_to_the_reader(text: str, key: str, doubt: Doubt) -> None:
    finding = read_quote(text)[key]
    assert (finding.value, finding.doubt) == ("", doubt)
    assert finding.words


@pytest.mark.parametrize(
    "text",
    [
        "",
        "£4,200",
        "Total amount payable £15,614.17. Total charge for credit £1,200. Interest £300.",
        "Was £14,000. You save £1,360. List price £15,000.",
        "Insurance £95 a month. Optional maintenance £25 per month. Road tax £195.",
        "12 months' MOT, 6 months warranty, 3 months' notice, a 3-year-old car",
        "Flat rate 3.5 %",
        "Late payment fee £12. Early termination fee £300. Damage up to £500. Holding deposit £99.",
        "£1.200,00 deposit",
        "Fuel about 13.5p per mile",
        "£500 four-weekly, £900 a quarter",
        "Contracted mileage 42,000",
        # Nobody can tell which figure belongs to which label.
        "Cash price\nDeposit\nMonthly payment\n£12,640\n£1,850\n£214.37",
        "Cash price\nColour\nMonthly payment\n£12,640\nblue\n£214.37",
    ],
)
def test_what_is_not_said_is_not_guessed(text: str) -> None:
    assert values(text) == {}


def test_each_finding_comes_with_the_words_of_the_quote() -> None:
    found = read_quote("36 monthly payments of £189.00, and 10,000 miles a year.")
    assert found["payment"].words == ("36 monthly payments of £189.00",)
    assert found["mileage_allowance"].words == ("10,000 miles a year",)


def test_long_words_are_cut() -> None:
    words = read_quote(f"Deposit {'x' * 200} £100")["deposit"].words[0]
    assert len(words) == 81
    assert words.endswith("…")


HOSTILE = ["£1", "1,000,", "9 x ", "monthly payments of ", "term of a ", "\n", "£", "APR ", "annual ", "12 ", ", ", "("]


@pytest.mark.parametrize("unit", [*HOSTILE, "number of equal regular ", "deposit " * 3, "profile 1+", "rentals excl"])
def test_hostile_text_is_read_in_linear_time(unit: str) -> None:
    def seconds(length: int) -> float:
        text = (unit * length)[:length]
        started = process_time()
        read_quote(text)
        return process_time() - started

    assert seconds(20_000) < 0.5


def test_any_text_at_all_is_read() -> None:
    chance = Random(11)  # noqa: S311 - any texts will do
    for _ in range(300):
        text = "".join(chance.choice([*HOSTILE, "week", "%", "p ", "per mile", "with VAT", "+ VAT"]) for _ in range(60))
        for finding in read_quote(text).values():
            assert bool(finding.value) == (finding.doubt is Doubt.NONE)
