"""What can be wrong with the values of an offers file beside each other: fuels, chances, ranges and terms."""

from tests.costing.offers_sample import SAMPLE, spoilt, spoilt_twice

_LEAVING_LINE = "leaving = [{ month = 11, chance = 0.15 }, { month = 23, chance = 0.2 }]\n"
_LEFT_OPEN = SAMPLE.replace(_LEAVING_LINE, "")
_PETROL = "{ mpg = 52.0, pence_per_litre = 146.5 }"
_REPAIRS = "{ low = 180.00, likely = 455.00, high = 1600.00 }"
_OF_VALUE = 'input = "value_at_horizon"\noffer = "Estate"'
_OF_VALUE_WHOLE = f"{_OF_VALUE}\nlow = 1900.00\nlikely = 2900.00\nhigh = 3400.00"
_PENCE = "low = 9\nlikely = 19\nhigh = 29"
_OF_MILES = 'input = "miles_per_year"\nlow = 24000\nlikely = 31000\nhigh = 36000'

FUEL = {
    "fuel below nothing": spoilt("= 146.5 }", "= -146.5 }", "running, fuel", "has pence_per_litre that is less than 0"),
    "fuel without a price": spoilt(_PETROL, "{ mpg = 52.0 }", "running, fuel", "must be written like"),
    "fuel of two kinds in one": spoilt(
        _PETROL, "{ mpg = 52.0, pence_per_kwh = 30.0 }", "running, fuel", "must be written like"
    ),
    "no miles to the gallon": spoilt("mpg = 52.0", "mpg = 0", "running, fuel", "has mpg that is less than 1"),
    "a range of miles to the gallon": spoilt(
        "mpg = 52.0, pence_per_litre = 146.5 }",
        "mpg = { low = 40, likely = 52, high = 60 }, pence_per_litre = 146.5 }",
        "running, fuel",
        "has mpg that must be one number",
    ),
    "one fuel in a list": spoilt(_PETROL, f"[{_PETROL}]", "running, fuel", "a list of two, each with its share"),
    "fuels without a share": spoilt(_PETROL, f"[{_PETROL}, {_PETROL}]", "running, fuel", "needs a share of the miles"),
    "shares that are not all": spoilt(
        _PETROL,
        "[{ mpg = 52.0, pence_per_litre = 146.5, share = 0.5 },"
        " { miles_per_kwh = 3.0, pence_per_kwh = 30.0, share = 0.4 }]",
        "running, fuel",
        "don’t add up to 1",
    ),
    "a share of more than all": spoilt(
        _PETROL,
        "[{ mpg = 52.0, pence_per_litre = 146.5, share = 1.5 },"
        " { miles_per_kwh = 3.0, pence_per_kwh = 30.0, share = 0.4 }]",
        "running, fuel",
        "has share that is more than 1",
    ),
    "fuel told twice": spoilt(
        f"fuel = {_PETROL}\n", f"fuel = {_PETROL}\nfuel_pence_per_mile = 13.0\n", "running, fuel", "is told twice"
    ),
    "an offer's fuel told twice": spoilt(
        "high = 64.0 } }\n",
        "high = 64.0 } }\n  fuel_pence_per_mile = 4.0\n",
        "offer 1, running, fuel",
        "is told twice: remove it, or fuel_pence_per_mile",
    ),
}

LEAVING = {
    "leaving that is no list": spoilt(_LEAVING_LINE, "leaving = 0.25\n", "use, leaving", "must be a list such as"),
    "leaving without a chance": spoilt(_LEAVING_LINE, "leaving = [{ month = 7 }]\n", "use, leaving", "written like"),
    "leaving twice in a month": spoilt("month = 23", "month = 11", "use, leaving", "has month 11 twice"),
    "leaving with more than all chances": spoilt("= 0.2 }]", "= 0.9 }]", "use, leaving", "to 1.05: 1 is the most"),
    "leaving with a chance below nothing": spoilt("= 0.2 }]", "= -0.2 }]", "use, leaving", "has chance that is less"),
    "leaving at the start": spoilt("month = 11", "month = 0", "use, leaving", "has month that is less than 1"),
    "leaving at the horizon": spoilt("month = 23", "month = 36", "use, leaving", "only after months 1 to 35"),
}

RANGES = {
    "a range that ends before it begins": spoilt(
        _REPAIRS, "{ low = 180.00, likely = 160.00, high = 1600.00 }", "running, repairs_per_year", "low is more than"
    ),
    "a range whose likely is beyond it": spoilt(
        "high = 64.0", "high = 6.4", "offer 1, running, fuel", "pence_per_kwh that has a range whose likely is more"
    ),
    "a range of two figures": spoilt(
        _REPAIRS, "{ low = 180.00, high = 1600.00 }", "running, repairs_per_year", "must be written like { low"
    ),
    "a range of words": spoilt(
        "low = 180.00", 'low = "few"', "running, repairs_per_year", "has a range whose low is not a number"
    ),
    "a range of tenths of a penny": spoilt(
        "low = 180.00", "low = 180.005", "running, repairs_per_year", "whose low has more than 2 decimal places"
    ),
    "a range among premiums": spoilt(
        "[1260.00,", "[{ low = 2.00, likely = 1.00, high = 3.00 },", "running, insurance", "low is more than its likely"
    ),
    "a range of miles": spoilt(
        "= 4500", "= { low = 1, likely = 2, high = 3 }", "use, private_miles_per_year", "only for pounds or pence"
    ),
    "a range of payments": spoilt(
        "= 42", "= { low = 1, likely = 2, high = 3 }", "offer 2, payments", "only for pounds or pence"
    ),
    "a range of shares": spoilt(
        "= 0.4\n", "= { low = 0, likely = 0, high = 1 }\n", "running, insurance_given_back", "only for pounds or pence"
    ),
    "low above likely": spoilt("low = 24000", "low = 31001", "uncertain 1, low", "is more than likely"),
    "likely above high": spoilt("likely = 31000\n", "likely = 36001\n", "uncertain 1, likely", "is more than high"),
    "pounds of three decimals": spoilt(
        "low = 1900.00", "low = 1900.005", "uncertain 2, low", "more than 2 decimal places"
    ),
    "an offer that is not there": spoilt(
        'offer = "Estate"', 'offer = "Coupé"', "uncertain 2, offer", "there is no offer"
    ),
    "what is the same for every offer": spoilt(
        _OF_MILES, f'offer = "Estate"\n{_OF_MILES}', "uncertain 1, offer", "the same for every offer"
    ),
    "what is each offer's own": spoilt(_OF_VALUE, 'input = "payment"', "uncertain 2, input", "say whose, as in"),
    "a rent for a car of one's own": spoilt(
        _OF_VALUE, 'offer = "Estate"\ninput = "payment"', "uncertain 2, offer", "no difference to “Estate”: you pay"
    ),
    "one input said twice": spoilt(_OF_VALUE, 'input = "miles_per_year"', "uncertain 2, input", "has two ranges"),
    "a range in its place and by itself": spoilt(
        _OF_VALUE, 'input = "repairs_per_year"', "uncertain 2, input", "repairs_per_year has two ranges"
    ),
    "an offer's range in its place and by itself": spoilt_twice(
        ("value_at_horizon = 2900.00", "value_at_horizon = { low = 1.00, likely = 2.00, high = 3.00 }"),
        (_OF_VALUE, _OF_VALUE),
        "uncertain 2, input",
        "value_at_horizon of “Estate” has two ranges",
    ),
    "an offer's fuel in its place and by itself": spoilt(
        _OF_VALUE_WHOLE,
        f'input = "pence_per_kwh"\noffer = "Electric supermini on PCP"\n{_PENCE}',
        "uncertain 2, input",
        "pence_per_kwh of “Electric supermini on PCP” has two ranges",
    ),
    "a fuel that is told otherwise": spoilt(
        _OF_VALUE_WHOLE, f'input = "fuel_pence_per_mile"\n{_PENCE}', "uncertain 2, input", "is not how the fuel is told"
    ),
    "two fuels of one price": spoilt_twice(
        (
            _PETROL,
            "[{ mpg = 52.0, pence_per_litre = 146.5, share = 0.5 }, { mpg = 40, pence_per_litre = 70, share = 0.5 }]",
        ),
        (_OF_VALUE_WHOLE, f'input = "pence_per_litre"\n{_PENCE}'),
        "uncertain 2, input",
        "write the range in its place",
    ),
    "months beside leaving": spoilt(
        _OF_MILES, 'input = "months"\nlow = 12\nlikely = 36\nhigh = 40', "uncertain 1, input", "beside leaving"
    ),
    "months below one": spoilt(
        _OF_MILES,
        'input = "months"\nlow = 0 #!\nlikely = 24\nhigh = 36',
        "uncertain 1, low",
        "between 1 and 120",
        text=_LEFT_OPEN,
    ),
    "months above all": spoilt(
        _OF_MILES,
        'input = "months"\nlow = 12\nlikely = 24\nhigh = 121 #!',
        "uncertain 1, high",
        "between 1 and 120",
        text=_LEFT_OPEN,
    ),
    "miles of nothing": spoilt("low = 24000", "low = 0", "uncertain 1, low", "between 1 and 200,000"),
}

TOGETHER = {
    "more private miles than miles": spoilt(
        "= 4500\n", "= 31001\n", "use, private_miles_per_year", "is more than the miles"
    ),
    "two offers of one name": spoilt(
        '"Saloon on contract hire"', '"Electric supermini on PCP"', "offer 2, name", "the name of another"
    ),
    "credit without a price": spoilt("price = 21450.00\n", "", "offer 1, price", "a PCP needs it").marked("[[offer]]"),
    "a PCP without its final payment": spoilt(
        "final_payment = 8900.00\n", "", "offer 1, final_payment", "a PCP needs it"
    ).marked("[[offer]]"),
    "a rental without payments": spoilt("payments = 42\n", "", "offer 2, payments", "contract hire needs it").marked(
        "[[offer]]", nth=2
    ),
    "a price for a rental": spoilt("damage = 420.00", "price = 420.00", "offer 2, price", "you don’t buy the car"),
    "a price of nothing for a rental": spoilt("damage = 420.00", "price = 0.00", "offer 2, price", "you don’t buy"),
    "a rental that is kept": spoilt("damage = 420.00", 'at_end = "keep"', "offer 2, at_end", "only the end of a PCP"),
    "an exit rule for a car of one's own": spoilt(
        "price = 6350.00",
        'early_exit = { kind = "weeks", value = 1 }\nprice = 6350.00',
        "offer 3, early_exit",
        "you don’t hire the car",
    ),
    "an instalment for a car of one's own": spoilt(
        "price = 6350.00", "payment = 100.00\nprice = 6350.00", "offer 3, payment", "you pay the price at the start"
    ),
    "hire purchase that is handed back": spoilt_twice(
        ('"pcp"', '"hire_purchase"'), ('"sell"', '"hand_back"'), "offer 1, at_end", "only the end of a PCP"
    ),
    "a deposit of the whole price": spoilt("2350.00", "21450.00", "offer 1, deposit", "leaves nothing to borrow"),
    "payments that don't repay the credit": spoilt(
        "payment = 268.40",
        "payment = 212.49",
        "offer 1, payment",
        "come to £19,099.52, less than the £19,100.00 that is lent",
    ),
    "a car worth nothing that gains": spoilt("= 19900.00", "= 0.00", "offer 1, value_now", "can’t be worth"),
    "a car that costs nothing and gains": spoilt(
        "price = 6350.00\nvalue_at_horizon = 2900.00",
        "price = 0.00\nvalue_at_horizon = 2900.00 #!",
        "offer 3, value_at_horizon",
        "worth nothing at the start",
    ),
    "a half rule that the agreement lacks": spoilt(
        'at_end = "sell"', 'on_leaving = "half_rule"\nhalf_rule = false', "offer 1, on_leaving", "gives no such right"
    ),
    "a half rule for a large credit": spoilt_twice(
        ("price = 21450.00", "price = 27350.01"),
        ("payment = 268.40\npayments = 48\n", 'payment = 468.40\npayments = 48\non_leaving = "half_rule" #!\n'),
        "offer 1, on_leaving",
        "more than £25,000.00 is lent",
    ),
    "leaving after the horizon": spoilt("= 12\n", "= 37\n", "what_if 2, leave_at_month", "after the 36 months"),
    "no miles left": spoilt("leave_at_month = 12", "more_miles = -1", "what_if 2, more_miles", "leaves no miles"),
    "handed back before the horizon": spoilt_twice(
        ("payment = 268.40\npayments = 48", "payment = 668.40\npayments = 24"),
        ('"sell"', '"hand_back"'),
        "offer 1, at_end",
        "after 24 months, which leaves no car for the rest of the 36",
    ),
    "handed back some weeks before the horizon": spoilt_twice(
        ('payments = 48\nfrequency = "month"', 'payments = 155\nfrequency = "week"'),
        ('"sell"', '"hand_back"'),
        "offer 1, at_end",
        "after 155 weeks, which leaves no car for the rest of the 36",
    ),
    "handed back before the horizon may come to its end": spoilt(
        '"sell"',
        '"hand_back"',
        "offer 1, at_end",
        "leaves no car for the rest of the 49",
        text=_LEFT_OPEN + '[[uncertain]]\ninput = "months"\nlow = 12\nlikely = 36\nhigh = 48.5\n',
    ),
}
