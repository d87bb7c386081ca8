"""Everything that can be wrong with an offers file: how it is spoilt, and what is said of it."""

from tests.costing.offers_faults_together import FUEL, LEAVING, RANGES, TOGETHER
from tests.costing.offers_sample import SAMPLE, Case, spoilt

_PREMIUMS = "= [1260.00, 1085.00, 940.00]"
_EXIT = '{ kind = "share_of_remaining", value = 0.5 }'
_OFF = "{ from_week = 31, weeks = 9 }"
_PARTS = '["vehicle_tax", "breakdown", "servicing", "tyres"]'
_ESTATE = '[[offer]]\nname = "Estate"\n'

VALUES = {
    "a day in quotes": spoilt("2027-03-08", '"2027-03-08"', "use, starts_on", "without quotes"),
    "a day with a time": spoilt("2027-03-08", "2027-03-08T09:00:00", "use, starts_on", "without a time"),
    "a day of another age": spoilt("2027-03-08", "1066-10-14", "use, starts_on", "between 1980-01-01 and 2100-12-31"),
    "months with a decimal": spoilt("months = 36", "months = 36.5", "use, months", "whole number"),
    "no months": spoilt("months = 36", "months = 0", "use, months", "between 1 and 120"),
    "too many months": spoilt("months = 36", "months = 121", "use, months", "between 1 and 120"),
    "true months": spoilt("months = 36", "months = true", "use, months", "whole number"),
    "miles in quotes": spoilt("_year = 31000", '_year = "31000"', "use, miles_per_year", "without quotes"),
    "no miles": spoilt("_year = 31000", "_year = 0", "use, miles_per_year", "between 1 and 200,000"),
    "endless miles": spoilt("_year = 31000", "_year = inf", "use, miles_per_year", "be reckoned with"),
    "not a number": spoilt("= 4500\n", "= nan\n", "use, private_miles_per_year", "be reckoned with"),
    "more hours than a week has": spoilt("= 29.5", "= 168.5", "use, lesson_hours_per_week", "between 0 and 168"),
    "a price of three decimals": spoilt("= 41.00", "= 41.005", "use, lesson_hour_price", "more than 2 decimal places"),
    "seven decimals": spoilt("= 0.28", "= 0.2800001", "use, marginal_tax_rate", "more than 6 decimal places"),
    "a rate in per cent": spoilt("= 0.28", "= 28", "use, marginal_tax_rate", "between 0 and 1"),
    "more weeks than a year has": spoilt("_year = 44", "_year = 53", "use, weeks_taught_per_year", "between 1 and 52"),
    "cash below nothing": spoilt("= 5250.00", "= -5250.00", "use, cash_in_hand", "between £0 and £9,999,999.99"),
    "no premium": spoilt(_PREMIUMS, "= []", "running, insurance", "one sum for every year or a list of pounds"),
    "a premium in quotes": spoilt("[1260.00,", '["1260.00",', "running, insurance", "without quotes"),
    "more premiums than years": spoilt(_PREMIUMS, f"= [{'9.0, ' * 11}]", "running, insurance", "has 11 years"),
    "pounds below nothing": spoilt("= 515.00", "= -515.00", "running, fit_out", "between £0 and £9,999,999.99"),
    "too many pounds": spoilt("21450.00", "21450000.00", "offer 1, price", "between £0 and £9,999,999.99"),
    "an empty name": spoilt('"Electric supermini on PCP"', '"  "', "offer 1, name", "must be words"),
    "a number for a name": spoilt('"Electric supermini on PCP"', "1", "offer 1, name", "must be words"),
    "a name of two lines": spoilt('"Electric supermini on PCP"', '"Electric\\non PCP"', "offer 1, name", "one line"),
    "a name that no text has": spoilt('"Electric supermini on PCP"', '"Electric\\u0000"', "offer 1, name", "one line"),
    "a name turned around": spoilt('"Electric supermini on PCP"', '"a\\u202eb"', "offer 1, name", "one line"),
    "a long name": spoilt('"Electric supermini on PCP"', f'"{"x" * 81}"', "offer 1, name", "longer than 80"),
    "an unknown kind": spoilt('"pcp"', '"balloon"', "offer 1, kind", "not one of owned, hire_purchase"),
    "a list for a kind": spoilt('"pcp"', '["pcp"]', "offer 1, kind", "not one of owned, hire_purchase"),
    "an unknown frequency": spoilt('"month"\n', '"fortnight"\n', "offer 1, frequency", "not one of month, week"),
    "an unknown end": spoilt('"sell"', '"swap"', "offer 1, at_end", "not one of sell, keep, hand_back"),
    "an unknown way of leaving": spoilt(
        'at_end = "sell"', 'on_leaving = "quietly"', "offer 1, on_leaving", "not one of cheapest, settle, half_rule"
    ),
    "a word for the half rule": spoilt(
        'at_end = "sell"', 'half_rule = "yes"', "offer 1, half_rule", "must be true or false"
    ),
    "no payments": spoilt("payments = 42", "payments = 0", "offer 2, payments", "between 1 and 520"),
    "an unknown part": spoilt(_PARTS, '["glass"]', "offer 2, includes", '"glass" is not one of'),
    "parts not in a list": spoilt(_PARTS, '"insurance"', "offer 2, includes", "must be a list"),
    "an exit without a value": spoilt(", value = 0.5 }", " }", "offer 2, early_exit", "must be written like"),
    "an exit of an unknown kind": spoilt(_EXIT, '{ kind = "days", value = 8 }', "offer 2, early_exit", "one of weeks"),
    "an exit of more than all": spoilt("value = 0.5 }", "value = 50 }", "offer 2, early_exit", "a half as 0.5"),
    "an unknown thing to follow": spoilt("damage = 420.00", 'then = "stops"', "offer 2, then", "one of rolls, renew"),
    "weeks off as a number": spoilt(_OFF, "6", "what_if 1, weeks_off", "must be written like"),
    "weeks off before the first": spoilt(_OFF, "{ from_week = 0, weeks = 6 }", "what_if 1, weeks_off", "between 1 and"),
    "an unknown input": spoilt('"miles_per_year"', '"luck"', "uncertain 1, input", "one of months, weeks_off"),
}

KEYS = {
    "an unknown table": spoilt(
        "[running]", '[weather]\nrain = "often"\n[running]', "weather", "the keys are use, running"
    ),
    "an unknown key": spoilt("fit_out = 515.00", "fitout = 515.00", "running, fitout", "is not known here"),
    "an unknown key of an offer": spoilt("damage = 420.00", "damages = 420.00", "offer 2, damages", "is not known"),
    "an unknown key of an offer's running costs": spoilt(
        "  repairs_per_year = 240.00", "  repairs = 240.00", "offer 1, running, repairs", "is not known here"
    ),
    "a fault of an offer's running costs": spoilt(
        "  repairs_per_year = 240.00", "  repairs_per_year = -1", "offer 1, running, repairs_per_year", "less than £0"
    ),
    "an offer's running costs that are no table": spoilt(
        "value_at_horizon = 2900.00",
        "value_at_horizon = 2900.00\nrunning = 3 #!",
        "offer 3, running",
        "must be a table: write [offer.running]",
    ),
    "a key that is missing": spoilt("[use]\nstarts_on = 2027-03-08", "[use]", "use, starts_on", "is missing"),
    "an offer without a name": spoilt(_ESTATE, "[[offer]]\n", "offer 3, name", "is missing"),
    "a range without its input": spoilt('input = "miles_per_year"\n', "", "uncertain 1, input", "is missing").marked(
        "[[uncertain]]"
    ),
    "an offer that is no list": Case(
        SAMPLE.split("[[offer]]")[0] + '[offer] #!\nname = "Estate"\n', "offer", "write [[offer]] before each"
    ),
    "no offer at all": Case("#!\n" + SAMPLE.split("[[offer]]")[0], "offer", "write at least one [[offer]]"),
    "no use": Case("#!\n" + SAMPLE[SAMPLE.index("[running]") : SAMPLE.index("[[what_if]]")], "use", "write [use] with"),
    "running is no table": Case(
        "running = 5 #!\n" + SAMPLE.partition("[running]")[0] + _ESTATE + 'kind = "owned"\nprice = 1.00\n',
        "running",
        "must be a table",
    ),
    "a rule in a table of its own": spoilt(
        f"early_exit = {_EXIT}", "[offer.early_exit]\nkind = 8\nvalue = 8", "offer 2, early_exit", "one of"
    ),
}

SYNTAX = {
    "no closing quote": spoilt('"Electric supermini on PCP"', '"Electric supermini on PCP', "", "this isn’t TOML"),
    "a pound sign": spoilt("41.00", "£41.00", "", "this isn’t TOML"),
    "a comma at the thousands": spoilt("21450.00", "21,450.00", "", "this isn’t TOML"),
    "no equals sign": spoilt("months = 36", "months 36", "", "this isn’t TOML"),
    "the same key twice": spoilt("months = 36", "months = 36\nmonths = 42 #!", "", "this isn’t TOML"),
    "the file breaks off": Case(f"{SAMPLE}more = [ #!", "", "this isn’t TOML"),
}

CASES = VALUES | KEYS | SYNTAX | FUEL | LEAVING | RANGES | TOGETHER
