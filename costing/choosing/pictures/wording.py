"""Words for what an offers report only has codes for: parts of the money, ways out, months, sums, APRs and inputs."""

from collections.abc import Collection, Sequence
from decimal import Decimal
from fractions import Fraction

from config import showing
from config.showing import percent
from costing.choosing.core.case import Offer, Use
from costing.choosing.core.figures import Figures
from costing.choosing.document.schema import USE
from costing.core.catalogue.agreements import CAR_SUMS, OFFER_TERMS
from costing.core.catalogue.running import AS_PAID, RUNNING_PARTS, are_many
from costing.core.money import divide_half_up, to_places
from costing.core.periods import ONE_DAY
from fleet.core.days import add_months
from fleet.core.mot import first_mot_years

#: Where the money goes, by the names that the cash flow uses.
PARTS = {one.name: one.words for one in CAR_SUMS.values()} | {part.name: part.words for part in AS_PAID}
#: What a sentence calls a part that isn't told, after "its" or "the".
_UNTOLD = {part.name: part.words.lower() for part in AS_PAID} | {
    "mot": "MOT",
    "fit_out": "fit-out",
    "value": "resale value",
    "early_exit": "charge for leaving early",
    "damage": "charge for damage",
    "excess_miles": "charge for extra miles",
}
#: What fits below a figure in a narrow column.
_SHORT = {"vehicle_tax": "tax", "breakdown": "breakdown", "early_exit": "early exit", "excess_miles": "extra miles"} | {
    "fit_out": "fit-out",
    "value": "its value",
    "damage": "damage",
    "mot": "MOT",
}
#: Not paid once for all.
RUNS_ON = frozenset(RUNNING_PARTS) - {"fit_out"}
#: Paid over the months, so that a limit on them is told a month. Nobody pays an MOT by the month.
MONTHLY = RUNS_ON - {"mot"}
#: How one leaves, in one or two words and as a row of its own.
WAYS = {
    "sell": ("sold", "Sell it"),
    "settle": ("settled, sold", "Settle, then sell"),
    "half_rule": ("half rule", "End it by the half rule"),
    "keep": ("kept", "Keep it"),
    "hand_back": ("handed back", "Hand it back"),
    "early_exit": ("early exit", "End the hire early"),
}
_ASSUMED = {
    "insurance_given_back": "that the insurer pays nothing back when you leave inside a year",
    "value_now": "that the day after you buy it the car would fetch its price",
    "mileage_allowance": "that there is no limit to the miles",
    "settlement": "that settling early costs what is left at the agreement’s own rate: but the contract decides, so "
    "ask the lender",
}
#: How far, in per cent, a quoted APR may lie above or below the one worked out before a member should ask about it.
#: From an older UK rule on quoting, as secondary texts give it.
_APR_ABOVE, _APR_BELOW = Decimal("1.0"), Decimal("0.1")


def figure(pence: int | Fraction) -> str:
    """Whole pounds without their sign, half up, for a table: 17,946, −120."""
    whole = divide_half_up(-pence if pence < 0 else pence, 100)
    return f"{'−' if pence < 0 and whole else ''}{whole:,}"


def pounds(pence: int | Fraction) -> str:
    """Whole pounds, half up: £17,946, −£120."""
    shown = figure(pence)
    return f"−£{shown[1:]}" if shown.startswith("−") else f"£{shown}"


def apart(pence: int) -> str:
    """A difference above nought in whole pounds, or in pence where it is less than one."""
    return pounds(pence) if pence >= 100 else f"{pence}p"


def quoted(pence: int) -> str:
    """A sum as it was quoted: £189, £128.50."""
    return showing.pence_as_pounds(pence).removesuffix(".00")


def listed(words: Sequence[str]) -> str:
    """One, two and three."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def untold(parts: Sequence[str]) -> str:
    """Parts that aren't told, in one list."""
    return listed([_UNTOLD[part] for part in parts])


def short(part: str) -> str:
    """A part that isn't told, below a figure."""
    return _SHORT.get(part, _UNTOLD[part])


def asked(part: str) -> str:
    """A part that isn't told, as the head of a row in which it can be written."""
    return f"{_UNTOLD[part][0].upper()}{_UNTOLD[part][1:]}"


def are_monthly(parts: Sequence[str]) -> bool:
    """Whether a limit on these parts together is told a month."""
    return RUNS_ON.issuperset(parts) and not MONTHLY.isdisjoint(parts)


def if_same(parts: Sequence[str], count: int) -> str:
    """The condition that untold parts cost the same for so many offers; empty without parts."""
    if not parts:
        return ""
    verb, each = "cost" if are_many(parts) else "costs", "both" if count == 2 else "each"
    return f"if {untold(parts)} {verb} the same for {each}"


def still_needed(count: int, of_use: Collection[str]) -> str:
    """That ``count`` offers are kept, and which figures of the use, by key, are needed before they can be compared."""
    kept = "Your offer is" if count == 1 else f"Your {showing.in_words(count)} offers are"
    words = [f"{key.words[:1].lower()}{key.words[1:]}" for key in USE if key.name in of_use]
    return f"{kept} kept. For the answer we still need: {listed(words)}." if words else f"{kept} kept."


def assumed(key: str) -> str:
    """What a figure takes for granted, after "We assume"."""
    return _ASSUMED[key]


def when(number: int) -> str:
    """A month below a figure: "month 9", or "at the start"."""
    return f"month {number}" if number else "at the start"


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
    return ", ".join(words.format(quoted(pence), **others) for pence, words in sums if pence)


def apr(one: Figures) -> tuple[str, str]:
    """The APR worked out, and how it compares with the one quoted."""
    if not one.offer.is_credit:
        return "No APR", "You borrow nothing."
    if one.apr is None:
        return "Not known", "No rate fits these payments: check the price, deposit and payments."
    apr = percent(one.apr)
    if one.apr < 0:
        return apr, "The payments don’t repay the loan: check the price, deposit and payments."
    if one.offer.quoted_apr is None:
        return apr, "None was quoted: ask for one in writing."
    rate = to_places(one.offer.quoted_apr, 1)
    if one.apr - rate > _APR_BELOW:
        why = "higher than quoted. The quote may leave out a fee, or a figure here is wrong: ask before you sign."
    elif rate - one.apr > _APR_ABOVE:
        why = "lower than quoted. Check the price, deposit and payments here, and ask."
    else:
        why = "they agree." if one.apr == rate else "near enough to ours."
    return apr, f"Quoted {percent(rate)}: {why}"


def mot_age(nation: str) -> str:
    """The age in years at which a car needs its first MOT, as a word."""
    return {3: "three", 4: "four"}[first_mot_years(nation)]
