"""Words for what an offers report only has codes for: parts of the money, keys, months, APRs and inputs."""

from decimal import Decimal
from fractions import Fraction

from config import showing
from costing.choosing.core.case import Case, Offer, Use
from costing.choosing.core.figures import Figures
from costing.choosing.core.inputs import INPUTS
from costing.core.catalogue.agreements import CAR_SUMS, OFFER_TERMS
from costing.core.catalogue.running import AS_ASKED, AS_PAID, RUNNING_PARTS
from costing.core.money import divide_half_up, to_places
from costing.core.periods import ONE_DAY
from fleet.core.days import add_months
from fleet.core.mot import first_mot_years

#: Where the money goes, by the names that the cash flow uses.
PARTS = {one.name: one.words for one in CAR_SUMS.values()} | {part.name: part.words for part in AS_PAID}
#: What a key of the running costs or of an offer is called where it is missing.
_KEYS = {part.key: part.missing for part in AS_ASKED} | {
    "value_at_horizon": "what the car will fetch",
    "early_exit": "the charge for leaving early",
}
#: How far, in per cent, a quoted APR may lie above or below the one worked out before a member should ask about it.
#: From an older UK rule on quoting, as secondary texts give it.
_APR_ABOVE, _APR_BELOW = Decimal("1.0"), Decimal("0.1")

_THINGS = {
    "value_at_horizon": "what {offer} fetches at the end",
    "payment": "the payment for {offer}",
    "damage": "the charge for damage on {offer}",
    "miles_per_year": "miles a year",
    **{part.key: part.varied for part in AS_ASKED if part.varied},
    "months": "the months until you leave",
    "weeks_off": "the weeks without lessons",
}


def month(use: Use, number: int) -> str:
    """A month of the horizon: "the start", or "month 9, January 2027"."""
    if not number:
        return "the start"
    return f"month {number}, {showing.month(add_months(use.starts_on, number) - ONE_DAY)}"


def parts_of(offer: Offer, *, included: bool) -> str:
    """The running costs that an offer includes, or leaves out, in words."""
    names = (part.words for part in RUNNING_PARTS.values() if (part.name in offer.includes) is included)
    return ", ".join(names) or "Nothing"


def terms(offer: Offer) -> str:
    """What the car itself costs, and what it should fetch."""
    others = {"deposit": offer.way.deposit_words, "payments": offer.payments, "frequency": offer.frequency}
    sums = [(getattr(offer, term.name), term.words) for term in OFFER_TERMS if term.words]
    return ", ".join(words.format(showing.pence_as_pounds(pence), **others) for pence, words in sums if pence)


def apr(one: Figures) -> tuple[str, str]:
    """The APR worked out, and how it compares with the one quoted."""
    if not one.offer.is_credit:
        return "No APR", "You borrow nothing."
    if one.apr is None:
        return "Not known", "No rate fits these payments: check the price, deposit and payments."
    if one.apr < 0:
        return (
            f"{one.apr} %",
            "The payments don’t repay the loan: check the price, deposit and payments.",
        )
    if one.offer.quoted_apr is None:
        return f"{one.apr} %", "None was quoted: ask for one in writing."
    quoted = to_places(one.offer.quoted_apr, 1)
    if one.apr - quoted > _APR_BELOW:
        why = "higher than quoted. The quote may leave out a fee, or a figure here is wrong: ask before you sign."
    elif quoted - one.apr > _APR_ABOVE:
        why = "lower than quoted. Check the price, deposit and payments here, and ask."
    else:
        why = "they agree."
    return f"{one.apr} %", f"Quoted {quoted} %: {why}"


def assumed(case: Case, key: str) -> str:
    """The words for a key that counts as nothing, as `Document.assumed` names it."""
    table, name = key.split(", ")
    words = _KEYS[name]
    return f"{words}, {case.offers[int(table.split()[1]) - 1].name}" if table.startswith("offer ") else words


def mot_age(nation: str) -> str:
    """The age in years at which a car needs its first MOT, as a word."""
    return {3: "three", 4: "four"}[first_mot_years(nation)]


def thing(name: str, offer: str) -> str:
    """An uncertain input, as a sentence names it."""
    return _THINGS[name].format(offer=offer or "each car")


def amount(name: str, value: Fraction) -> str:
    """A value of an input in its own unit, such as £1,234.56, 13.5p, 24,000 miles or 15 months."""
    unit = INPUTS[name].unit
    if unit == "pounds":
        return showing.pence_as_pounds(divide_half_up(value, 1))
    if unit == "pence":
        return f"{to_places(value, 1)}p"
    count = divide_half_up(value, 1)
    return f"{showing.whole(count)} {unit.removesuffix('s') if count == 1 else unit}"
