"""Everything that can be wrong with an offers file: how it is spoilt, and what is said of it.

Each case gives the sample another text in one place; the line that the fault must name bears the mark ``#!``.
"""

from typing import NamedTuple

SAMPLE = """\
[use]
starts_on = 2027-01-01
months = 24
miles_per_year = 24000
private_miles_per_year = 3000
lesson_hours_per_week = 26
weeks_taught_per_year = 46
lesson_hour_price = 38.00
discount_rate = 0.0
marginal_tax_rate = 0.26

[running]
fuel_pence_per_mile = 13.5
insurance = [910.00, 790.00]
vehicle_tax_per_year = 195.00
breakdown_per_year = 60.00
mot = 54.85
servicing_per_year = 260.00
repairs_per_year = 400.00
tyre_set = 320.00
tyre_set_miles = 25000
fit_out = 440.00

[[offer]]
name = "Hatchback on PCP"
kind = "pcp"
first_registered = 2024-01-10
price = 11800.00
deposit = 1200.00
payment = 189.00
payments = 36
final_payment = 5400.00
quoted_apr = 11.9
value_at_horizon = 6900.00
at_end = "sell"
mileage_allowance = 10000
excess_pence_per_mile = 9.0

[[offer]]
name = "Weekly rental, all in"
kind = "weekly_rental"
payment = 129.00
payments = 104
frequency = "week"
damage = 350.00
includes = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"]
early_exit = { kind = "weeks", value = 8 }

[[offer]]
name = "Estate"
kind = "owned"
price = 7200.00
value_at_horizon = 4100.00

[[what_if]]
name = "Ill for six weeks"
weeks_off = { from_week = 20, weeks = 6 }

[[what_if]]
name = "Leave after nine months"
leave_at_month = 9

[[uncertain]]
input = "repairs_per_year"
low = 150.00
likely = 400.00
high = 1400.00

[[uncertain]]
input = "value_at_horizon"
offer = "Estate"
low = 3000.00
likely = 4100.00
high = 5200.00
"""


class Case(NamedTuple):
    """A spoilt file, and of its fault the key (nothing for the file as a whole) and a part of what is said."""

    text: str
    key: str
    words: str


def _in(old: str, new: str, key: str, words: str) -> Case:
    """The sample with another text where ``old`` stands first."""
    assert old in SAMPLE, old
    return Case(SAMPLE.replace(old, new, 1), key, words)


def _both(one: tuple[str, str], other: tuple[str, str], key: str, words: str) -> Case:
    """The sample with another text in two places."""
    text, _, _ = _in(*one, key, words)
    assert other[0] in text, other
    return Case(text.replace(*other, 1), key, words)


_OTHER_OFFER = '[[offer]]\nname = "Weekly rental, all in"\n'
_EXIT = '{ kind = "weeks", value = 8 }'
_OFF = "{ from_week = 20, weeks = 6 }"
_HANDED_BACK = ('"sell"', '"hand_back" #!')
_REPAIRS = 'input = "repairs_per_year"\nlow = 150.00\nlikely = 400.00\nhigh = 1400.00'
_LAST_OFFER = '[[offer]]\nname = "Estate"\n'

VALUES = {
    "a day in quotes": _in("2027-01-01", '"2027-01-01" #!', "use, starts_on", "without quotes"),
    "a day with a time": _in("2027-01-01", "2027-01-01T09:00:00 #!", "use, starts_on", "without a time"),
    "a day of another age": _in("2027-01-01", "1066-10-14 #!", "use, starts_on", "between 1980-01-01 and 2100-12-31"),
    "months with a decimal": _in("months = 24", "months = 24.5 #!", "use, months", "whole number"),
    "no months": _in("months = 24", "months = 0 #!", "use, months", "between 1 and 120"),
    "too many months": _in("months = 24", "months = 121 #!", "use, months", "between 1 and 120"),
    "true months": _in("months = 24", "months = true #!", "use, months", "whole number"),
    "miles in quotes": _in("_year = 24000", '_year = "24000" #!', "use, miles_per_year", "without quotes"),
    "no miles": _in("_year = 24000", "_year = 0 #!", "use, miles_per_year", "between 1 and 200,000"),
    "endless miles": _in("_year = 24000", "_year = inf #!", "use, miles_per_year", "be reckoned with"),
    "not a number": _in("= 3000\n", "= nan #!\n", "use, private_miles_per_year", "be reckoned with"),
    "a price of three decimals": _in("= 38.00", "= 38.005 #!", "use, lesson_hour_price", "more than 2 decimal places"),
    "seven decimals": _in("= 0.26", "= 0.2600001 #!", "use, marginal_tax_rate", "more than 6 decimal places"),
    "a rate in per cent": _in("= 0.26", "= 26 #!", "use, marginal_tax_rate", "between 0 and 1"),
    "more weeks than a year has": _in("_year = 46", "_year = 53 #!", "use, weeks_taught_per_year", "between 1 and 52"),
    "fuel below nothing": _in("= 13.5", "= -13.5 #!", "running, fuel_pence_per_mile", "between 0 and 200"),
    "one premium": _in("= [910.00, 790.00]", "= 910.00 #!", "running, insurance", "list of pounds by year"),
    "no premium": _in("= [910.00, 790.00]", "= [] #!", "running, insurance", "list of pounds by year"),
    "a premium in quotes": _in("[910.00,", '["910.00", #!\n', "running, insurance", "without quotes"),
    "pounds below nothing": _in("= 440.00", "= -440.00 #!", "running, fit_out", "between £0 and £9,999,999.99"),
    "too many pounds": _in("11800.00", "11800000.00 #!", "offer 1, price", "between £0 and £9,999,999.99"),
    "an empty name": _in('"Hatchback on PCP"', '"  " #!', "offer 1, name", "must be words"),
    "a number for a name": _in('"Hatchback on PCP"', "1 #!", "offer 1, name", "must be words"),
    "a name of two lines": _in('"Hatchback on PCP"', '"Hatchback\\non PCP" #!', "offer 1, name", "one line"),
    "a name that no text has": _in('"Hatchback on PCP"', '"Hatchback\\u0000" #!', "offer 1, name", "one line"),
    "a long name": _in('"Hatchback on PCP"', f'"{"x" * 81}" #!', "offer 1, name", "longer than 80"),
    "an unknown kind": _in('"pcp"', '"balloon" #!', "offer 1, kind", "not one of owned, hire_purchase"),
    "a list for a kind": _in('"pcp"', '["pcp"] #!', "offer 1, kind", "not one of owned, hire_purchase"),
    "an unknown frequency": _in('"week"\n', '"fortnight" #!\n', "offer 2, frequency", "not one of month, week"),
    "an unknown end": _in('"sell"', '"swap" #!', "offer 1, at_end", "not one of keep, hand_back, sell"),
    "no payments": _in("payments = 104", "payments = 0 #!", "offer 2, payments", "between 1 and 520"),
    "an unknown part": _in('"tyres", "fit_out"]', '"tyres", "glass"] #!', "offer 2, includes", '"glass" is not one of'),
    "parts not in a list": _in('= ["insurance", ', '= "insurance" #!\n#', "offer 2, includes", "must be a list"),
    "a word for yes": _in(
        '"Estate"\n', '"Estate"\npauses_when_off = "yes" #!\n', "offer 3, pauses_when_off", "must be true or false"
    ),
    "an exit without a value": _in(", value = 8 }", " } #!", "offer 2, early_exit", "must be written like"),
    "an exit of an unknown kind": _in(_EXIT, '{ kind = "days", value = 8 } #!', "offer 2, early_exit", "one of weeks"),
    "an exit of more than all": _in(
        _EXIT, '{ kind = "share_of_remaining", value = 50 } #!', "offer 2, early_exit", "a half as 0.5"
    ),
    "weeks off as a number": _in(_OFF, "6 #!", "what_if 1, weeks_off", "must be written like"),
    "weeks off before the first": _in(_OFF, "{ from_week = 0, weeks = 6 } #!", "what_if 1, weeks_off", "between 1 and"),
    "an unknown input": _in('"repairs_per_year"', '"luck" #!', "uncertain 1, input", "one of value_at_horizon"),
}

KEYS = {
    "an unknown table": _in(
        "[running]", '[weather] #!\nrain = "often"\n[running]', "weather", "the keys are use, running"
    ),
    "an unknown key": _in("fit_out = 440.00", "fitout = 440.00 #!", "running, fitout", "is not known here"),
    "an unknown key of an offer": _in(
        "damage = 350.00", "damages = 350.00 #!", "offer 2, damages", "is not known here"
    ),
    "a key that is missing": _in("[use]\nstarts_on = 2027-01-01", "[use] #!", "use, starts_on", "is missing"),
    "an offer without a name": _in(_LAST_OFFER, "[[offer]] #!\n", "offer 3, name", "is missing"),
    "an offer that is no list": Case(
        SAMPLE.split("[[offer]]")[0] + '[offer] #!\nname = "Estate"\n', "offer", "write [[offer]] before each"
    ),
    "no offer at all": Case("#!\n" + SAMPLE.split("[[offer]]")[0], "offer", "write at least one [[offer]]"),
    "no use": Case("#!\n" + SAMPLE[SAMPLE.index("[running]") :], "use", "is missing: write [use]"),
    "running is no table": Case(
        "running = 5 #!\n" + SAMPLE.partition("[running]")[0] + _LAST_OFFER + 'kind = "owned"\nprice = 1.00\n',
        "running",
        "must be a table",
    ),
    "a rule in a table of its own": _in(
        f"early_exit = {_EXIT}", "[offer.early_exit] #!\nkind = 8\nvalue = 8", "offer 2, early_exit", "one of"
    ),
}

TOGETHER = {
    "more private miles than miles": _in(
        "= 3000\n", "= 24001 #!\n", "use, private_miles_per_year", "is more than the miles"
    ),
    "two offers of one name": _in(
        '"Weekly rental, all in"', '"Hatchback on PCP" #!', "offer 2, name", "the name of another"
    ),
    "credit without a price": _both(
        ("[[offer]]", "[[offer]] #!"), ("price = 11800.00\n", ""), "offer 1, price", "a PCP needs it"
    ),
    "a rental without payments": _both(
        (_OTHER_OFFER, f"[[offer]] #!{_OTHER_OFFER[9:]}"),
        ("payments = 104\n", ""),
        "offer 2, payments",
        "weekly rental needs it",
    ),
    "a price for a rental": _in("damage = 350.00", "price = 350.00 #!", "offer 2, price", "you don’t buy the car"),
    "a rental that is kept": _in(
        "damage = 350.00", 'at_end = "keep" #!', "offer 2, at_end", "ends with the car going back"
    ),
    "an exit rule for a car of one's own": _in(
        "price = 7200.00",
        'price = 7200.00\nearly_exit = { kind = "weeks", value = 1 } #!',
        "offer 3, early_exit",
        "by settling it",
    ),
    "an instalment for a car of one's own": _in(
        "price = 7200.00", "price = 7200.00\npayment = 100.00 #!", "offer 3, payment", "you pay the price at the start"
    ),
    "a car of one's own that is handed back": _in(
        "price = 7200.00",
        'price = 7200.00\nat_end = "hand_back" #!',
        "offer 3, at_end",
        "only a PCP can go back",
    ),
    "hire purchase that is handed back": _both(
        ('"pcp"', '"hire_purchase"'), _HANDED_BACK, "offer 1, at_end", "only a PCP can go back"
    ),
    "a deposit of the whole price": _in("1200.00", "11800.00 #!", "offer 1, deposit", "leaves nothing to borrow"),
    "leaving after the horizon": _in("= 9\n", "= 25 #!\n", "what_if 2, leave_at_month", "after the 24 months compared"),
    "ill after the horizon": _in(_OFF, "{ from_week = 105, weeks = 6 } #!", "what_if 1, weeks_off", "begins after"),
    "no miles left": _in("leave_at_month = 9", "more_miles = -1 #!", "what_if 2, more_miles", "leaves no miles"),
    "low above likely": _in("low = 150.00", "low = 401 #!", "uncertain 1, low", "is more than likely"),
    "likely above high": _in("likely = 400.00", "likely = 1401 #!", "uncertain 1, likely", "is more than high"),
    "an offer that is not there": _in(
        'offer = "Estate"', 'offer = "Coupé" #!', "uncertain 2, offer", "no offer called"
    ),
    "an offer's input said of no offer's": _in(
        'input = "repairs_per_year"',
        'input = "repairs_per_year"\noffer = "Estate" #!',
        "uncertain 1, offer",
        "the same for every offer",
    ),
    "a rent for a car of one's own": _in(
        'input = "value_at_horizon"\noffer = "Estate"',
        'input = "payment"\noffer = "Estate" #!',
        "uncertain 2, offer",
        'no difference to "Estate" (owned)',
    ),
    "one input said twice": _in(
        'input = "value_at_horizon"\noffer = "Estate"',
        'input = "repairs_per_year" #!',
        "uncertain 2, input",
        "has two ranges",
    ),
    "months below one": _in(
        _REPAIRS, 'input = "months"\nlow = 0 #!\nlikely = 24\nhigh = 36', "uncertain 1, low", "between 1 and 120"
    ),
    "months above all": _in(
        _REPAIRS, 'input = "months"\nlow = 12\nlikely = 24\nhigh = 121 #!', "uncertain 1, high", "between 1 and 120"
    ),
    "more pairs of months and weeks off than are worked out": _in(
        _REPAIRS,
        'input = "months"\nlow = 81\nlikely = 90\nhigh = 120\n'
        '[[uncertain]]\ninput = "weeks_off"\nlow = 0\nlikely = 4\nhigh = 25 #!',
        "uncertain 2, high",
        "1,040 pairs of months and weeks off, together with the range before it: at most 1,000",
    ),
    "miles of nothing": _in(
        'input = "repairs_per_year"\nlow = 150.00',
        'input = "miles_per_year"\nlow = 0 #!',
        "uncertain 1, low",
        "must be above 0",
    ),
    "handed back before the horizon": _both(
        ("payments = 36", "payments = 12"), _HANDED_BACK, "offer 1, at_end", "leaves no car for the rest of the 24"
    ),
    "handed back before the horizon may come to its end": Case(
        SAMPLE.replace("payments = 36", "payments = 24").replace('"sell"', '"hand_back" #!')
        + '[[uncertain]]\ninput = "months"\nlow = 12\nlikely = 24\nhigh = 30\n',
        "offer 1, at_end",
        "leaves no car for the rest of the 30",
    ),
}

SYNTAX = {
    "no closing quote": _in('"Hatchback on PCP"', '"Hatchback on PCP #!', "", "this isn’t TOML"),
    "a pound sign": _in("38.00", "£38.00 #!", "", "this isn’t TOML"),
    "a comma at the thousands": _in("11800.00", "11,800.00 #!", "", "this isn’t TOML"),
    "no equals sign": _in("months = 24", "months 24 #!", "", "this isn’t TOML"),
    "the same key twice": _in("months = 24", "months = 24\nmonths = 36 #!", "", "this isn’t TOML"),
    "the file breaks off": Case(f"{SAMPLE}more = [ #!", "", "this isn’t TOML"),
}

CASES = VALUES | KEYS | TOGETHER | SYNTAX
