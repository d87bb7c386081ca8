"""Everything that can be wrong with the rows of an archive: how it is spoilt, and what is said of it.

Each case names the whole of the sample archive, spoilt, and all faults it must give: the place exactly, and
words that the explanation must hold.
"""

from typing import NamedTuple

from tests.costing.archive_sample import SAMPLE, cells, more


class Case(NamedTuple):
    """A spoilt archive and its faults: ``file:line: column`` with a part of what is said."""

    files: dict[str, str]
    faults: dict[str, str]


def _one(file: str, column: str, cell: str, words: str) -> Case:
    """One cell of the first row of ``file`` spoilt."""
    return Case(cells(file, {column: cell}), {f"{file}:2: {column}": words})


def _text(file: str, text: str, **faults: str) -> Case:
    return Case(SAMPLE | {file: text}, faults)


_HEADER = {file: text.partition("\n")[0] for file, text in SAMPLE.items()}

CELLS = {
    "a pound sign": _one("costs.csv", "amount", "£780.00", "pound sign"),
    "a comma at the thousands": _one("costs.csv", "amount", "1,780.00", "no commas"),
    "a comma for the decimals": _one("fills.csv", "amount", "47,92", "full stop"),
    "three decimals of a pound": _one("costs.csv", "amount", "780.005", "more than 2 decimal places"),
    "not a number": _one("costs.csv", "amount", "NaN", "not a plain number"),
    "infinity": _one("fills.csv", "quantity", "Infinity", "not a plain number"),
    "an exponent": _one("valuations.csv", "value", "1e3", "not a plain number"),
    "digits of another alphabet": _one("valuations.csv", "value", "٧٩٠٠", "not a plain number"),
    "a sum beyond the field": _one("costs.csv", "amount", "12345678.00", "9,999,999.99"),
    "a refund beyond the field": _one("costs.csv", "amount", "-10000000.00", "9,999,999.99"),
    "a fill that pays back": _one("fills.csv", "amount", "-1.00", "less than £0"),
    "a fill of nothing": _one("fills.csv", "quantity", "0.00", "less than 0.001"),
    "a fill of less than nothing": _one("fills.csv", "quantity", "-3", "less than 0.001"),
    "four decimals of a litre": _one("fills.csv", "quantity", "34.5001", "more than 3 decimal places"),
    "a fill beyond the field": _one("fills.csv", "quantity", "10000", "9,999.999"),
    "a price below nothing": _one("agreements.csv", "price", "-1.00", "less than £0"),
    "a value below nothing": _one("valuations.csv", "value", "-0.01", "less than £0"),
    "an APR below nothing": _one("agreements.csv", "quoted_apr", "-1", "less than 0"),
    "miles with a comma": _one("odometer.csv", "miles", "30,000", "commas"),
    "miles with decimals": _one("odometer.csv", "miles", "30000.5", "not a whole number"),
    "miles below nothing": _one("teaching.csv", "private_miles", "-1", "less than 0"),
    "miles beyond the field": _one("dues.csv", "due_miles", "99999999999", "more than 1,999,998"),
    "thousands of digits": _one("dues.csv", "due_miles", "9" * 5000, "more than 40 digits"),
    "thousands of noughts": _one("dues.csv", "due_miles", "0" * 5000 + "1", "more than 40 digits"),
    "lessons beyond the field": _one("teaching.csv", "lessons", "32768", "32,767"),
    "cover of no miles": _one("costs.csv", "covers_miles", "0", "less than 1"),
    "every nought months": _one("dues.csv", "every_months", "0", "less than 1"),
    "every nought miles": _one("dues.csv", "every_miles", "0", "less than 1"),
    "no payments at all": _one("agreements.csv", "payments", "0", "less than 1"),
    "hours by the clock": _one("teaching.csv", "hours", "1:30", "1.5"),
    "hours below nothing": _one("teaching.csv", "hours", "-1", "less than 0"),
    "hours beyond the field": _one("teaching.csv", "hours", "1000000", "more than 999,999"),
    "a day the British way": _one("costs.csv", "paid_on", "01/10/2025", "year first"),
    "a day without dashes": _one("costs.csv", "paid_on", "20251001", "year first"),
    "30 February": _one("fills.csv", "filled_on", "2026-02-30", "no day of the calendar"),
    "a day long ago": _one("members.csv", "joined_on", "1979-12-31", "1980-01-01"),
    "a day far ahead": _one("dues.csv", "due_on", "2101-01-01", "2100-12-31"),
    "neither true nor false": _one("cars.csv", "dual_controls", "yes", "neither true nor false"),
    "an unknown category": _one("costs.csv", "category", "Insurance", "insurance, vehicle_tax"),
    "an unknown fuel": _one("cars.csv", "fuel", "steam", "petrol, diesel"),
    "an unknown transmission": _one("cars.csv", "transmission", "cvt", "manual, automatic"),
    "an unknown unit": _one("fills.csv", "unit", "gallon", "litre, kwh"),
    "an unknown role": _one("members.csv", "role", "admin", "member, coordinator"),
    "an unknown grade": _one("members.csv", "grade", "ORDIT", "ADI, PDI"),
    "an unknown kind of due item": _one("dues.csv", "kind", "wash", "mot, vehicle_tax"),
    "an unknown kind of agreement": _one("agreements.csv", "kind", "lease", "contract_hire"),
    "an unknown frequency": _one("agreements.csv", "frequency", "monthly", "month, week"),
    "an unknown nation": _one("cooperative.csv", "nation", "UK", "GB, NI"),
    "too few contributors": _one("cooperative.csv", "minimum_contributors", "4", "less than 5"),
    "a rate in per cent": _one("cooperative.csv", "depreciation_rate", "15", "0.15"),
    "all value lost in a year": _one("cooperative.csv", "depreciation_rate", "1", "more than 0.9999"),
    "a negative rate": _one("cooperative.csv", "depreciation_rate", "-0.1", "less than 0"),
    "too fine a rate": _one("cooperative.csv", "depreciation_rate", "0.12345", "more than 4 decimal places"),
    "too early an hour": _one("cooperative.csv", "reminder_hour", "3", "less than 4"),
    "no hour of the day": _one("cooperative.csv", "reminder_hour", "24", "more than 23"),
    "text too long": _one("dues.csv", "note", "x" * 501, "500"),
    "a reference too long": _one("teaching.csv", "ref", "x" * 65, "64"),
    "an empty name": _one("members.csv", "name", "  ", "is empty"),
    "an empty amount": _one("costs.csv", "amount", "", "is empty"),
    "an empty reference": _one("fills.csv", "ref", "", "is empty"),
    "an empty keeper": _one("cars.csv", "keeper_email", "", "is empty"),
    "no address": _one("costs.csv", "member_email", "ann at book", "not an e-mail address"),
    "an address too long": Case(
        cells("members.csv", {}, {}, {"email": f"{'a' * 250}@book.example"}), {"members.csv:4: email": "254"}
    ),
    "no mark": _one("odometer.csv", "registration", "QA51_ABC", "not a registration mark"),
    "a mark too long": _one("valuations.csv", "registration", "QA51ABCDE", "not a registration mark"),
    "a mark of other letters": _one("odometer.csv", "registration", "ЯA51ABC", "not a registration mark"),
    "a mark with a sharp s": _one("odometer.csv", "registration", "QA51Aß", "not a registration mark"),
}

ROWS = {
    "a member left before joining": _one("members.csv", "left_on", "2020-04-05", "before joined_on"),
    "service ends before it starts": _one("cars.csv", "in_service_to", "2024-01-07", "before in_service_from"),
    "teaching ends before it starts": _one("teaching.csv", "to_on", "2026-02-22", "before from_on"),
    "cover ends before it starts": _one("costs.csv", "covers_to", "2025-10-09", "before covers_from"),
    "cover without a last day": _one("costs.csv", "covers_to", "", "covers_from is given"),
    "cover without a first day": _one("costs.csv", "covers_from", "", "covers_to is given"),
    "cover by days and miles": _one("costs.csv", "covers_miles", "1000", "not both"),
    "an end without cover": Case(cells("costs.csv", {}, {"covers_miles": ""}), {"costs.csv:3: ended_on": "no cover"}),
    "a car's item without a car": Case(
        cells("dues.csv", {"kind": "mot"}), {"dues.csv:2: registration": "falls due on a car"}
    ),
    "a person's item without a person": Case(
        cells("dues.csv", {}, {"kind": "driving_licence"}),
        {"dues.csv:3: member_email": "falls due on a member"},
    ),
    "an item of a car and a person": Case(
        cells("dues.csv", {}, {"member_email": "ann@book.example"}), {"dues.csv:3: member_email": "beside"}
    ),
    "another item of nobody": Case(
        cells("dues.csv", {"kind": "other", "member_email": ""}), {"dues.csv:2: registration": "member_email"}
    ),
    "a figure of too few contributors": Case(
        cells("closings.csv", {"median_cost_per_mile": "0.34"}),
        {"closings.csv:2: median_cost_per_mile": "fewer than 5"},
    ),
    "a running cost of too few contributors": Case(
        cells("closings.csv", {}, {"contributors": "4"}),
        {
            f"closings.csv:3: {name}": "4 contributors are fewer than 5"
            for name in (
                "median_cost_per_lesson_hour",
                "median_cost_per_mile",
                "lower_quartile_cost_per_lesson_hour",
                "upper_quartile_cost_per_lesson_hour",
                "fuel_pence_per_mile_petrol",
                "insurance",
                "vehicle_tax_per_year",
                "mot",
                "servicing_per_year",
                "repairs_per_year",
            )
        },
    ),
    "an exact figure": Case(
        cells("closings.csv", {}, {"median_cost_per_lesson_hour": "5.47"}),
        {"closings.csv:3: median_cost_per_lesson_hour": "not rounded to 20p"},
    ),
    "an exact figure of a mile": Case(
        cells("closings.csv", {}, {}, {"median_cost_per_mile": "0.36"}),
        {"closings.csv:4: median_cost_per_mile": "not rounded to 5p"},
    ),
    "a running cost of a month": Case(
        cells("closings.csv", {}, {}, {"mot": "50.00"}), {"closings.csv:4: mot": "only a year"}
    ),
    "half a closing": Case(
        SAMPLE | {"closings.csv": "".join(SAMPLE["closings.csv"].splitlines(keepends=True)[:4])},
        {"closings.csv:4: span": "2026-01 has no row of its year"},
    ),
    "an exact running cost": Case(
        cells("closings.csv", {}, {"insurance": "851.00", "fuel_pence_per_mile_petrol": "13.70"}),
        {
            "closings.csv:3: fuel_pence_per_mile_petrol": "not rounded to 0.5",
            "closings.csv:3: insurance": "not rounded to 50",
        },
    ),
    "a day for a month": _one("closings.csv", "month", "2025-12-01", "not a month written year first"),
    "a thirteenth month": _one("closings.csv", "month", "2025-13", "not a month written year first"),
    "a rounding nobody may choose": _one("closings.csv", "rounded_to", "25", "not one of 10, 20, 50"),
    "a closing day too early": _one("cooperative.csv", "closing_day", "7", "less than 8"),
    "what repeats of nothing": _one("repeats.csv", "amount", "0.00", "less than £0.01"),
    "an unknown interval": _one("repeats.csv", "interval", "fortnight", "week, month, quarter, year"),
    "a new sum without its day": Case(
        cells("repeats.csv", {"next_amount": "190.00"}), {"repeats.csv:2: next_amount_from": "from some day on"}
    ),
    "a final payment without a last": Case(
        cells("repeats.csv", {"payments": ""}), {"repeats.csv:2: payments": "falls due with the last payment"}
    ),
    "takings below nothing": _one("takings.csv", "amount", "-1.00", "less than £0"),
    "takings from another day than Monday": _one("takings.csv", "from_on", "2026-02-24", "is no Monday"),
    "takings of more than a week": _one("takings.csv", "to_on", "2026-03-08", "is not the Sunday of the week"),
    "takings of nobody": _one("takings.csv", "member_email", "di@book.example", "is no member"),
    "takings of a week told twice": Case(
        cells("takings.csv", {}, {"from_on": "2026-02-23", "to_on": "2026-03-01"}),
        {"takings.csv:3: from_on": "whose takings are in line 2 already"},
    ),
    "made before it begins": _one("repeats.csv", "made_until", "2023-12-31", "is before starts_on"),
    "credit without a price": _one("agreements.csv", "price", "", "pcp"),
    "credit without a payment": _one("agreements.csv", "payment", "", "pcp"),
    "credit without its number of payments": _one("agreements.csv", "payments", "", "pcp"),
    "credit without a frequency": _one("agreements.csv", "frequency", "", "pcp"),
    "a rental without its number of payments": Case(
        cells("agreements.csv", {}, {"payments": ""}), {"agreements.csv:3: payments": "weekly_rental"}
    ),
    "an owned car without a price": Case(
        cells("agreements.csv", {"kind": "owned", "price": ""}), {"agreements.csv:2: price": "owned"}
    ),
    "a cell too many": _text(
        "valuations.csv",
        f"{_HEADER['valuations.csv']}\nQA51ABC,2026-01-08,7,900.00\n",
        **{"valuations.csv:2: (line)": "4 cells under a header of 3"},
    ),
    "a cell too few": _text(
        "valuations.csv",
        f"{_HEADER['valuations.csv']}\nQA51ABC,2026-01-08\n",
        **{"valuations.csv:2: value": "2 cells under a header of 3"},
    ),
}

_KEEPER = {"keeper_email": "nobody@book.example"}
BETWEEN_ROWS = {
    "the same member twice": Case(
        more("members.csv", email="ANN@book.example"), {"members.csv:5: email": "repeats line 2"}
    ),
    "the same mark but for spaces": Case(
        more("cars.csv", registration="qa51 abc"), {"cars.csv:4: registration": "repeats line 2"}
    ),
    "two readings of one day": Case(more("odometer.csv"), {"odometer.csv:5: read_on": "repeats line 2"}),
    "a reference used twice": Case(more("costs.csv", amount="1.00"), {"costs.csv:7: ref": "repeats line 2"}),
    "a fill's reference used twice": Case(more("fills.csv"), {"fills.csv:5: ref": "repeats line 2"}),
    "a due item twice": Case(
        more("dues.csv", like=2, due_on="2027-10-03"), {"dues.csv:6: kind": "the same registration and kind"}
    ),
    "two agreements of one day": Case(more("agreements.csv"), {"agreements.csv:4: starts_on": "repeats line 2"}),
    "two values of one day": Case(
        more("valuations.csv", value="1.00"), {"valuations.csv:3: valued_on": "repeats line 2"}
    ),
    "two rows of settings": Case(more("cooperative.csv"), {"cooperative.csv:3: (line)": "one too many"}),
    "a keeper nobody knows": Case(cells("cars.csv", _KEEPER), {"cars.csv:2: keeper_email": "no member"}),
    "a car nobody knows": _one("valuations.csv", "registration", "QZ99ZZZ", "QZ99ZZZ is no car"),
    "a cost of a member nobody knows": _one("costs.csv", "member_email", "x@book.example", "no member"),
    "a due item of a member nobody knows": _one("dues.csv", "member_email", "x@book.example", "no member"),
    "an odometer that falls": Case(
        cells("odometer.csv", {}, {"miles": "29999"}),
        {"odometer.csv:3: miles": "29,999 miles is less than the 36,000 of 1 June 2025 (fills.csv, line 2)"},
    ),
    "a fill below a reading": Case(
        cells("fills.csv", {"odometer": "29999"}),
        {"fills.csv:2: odometer": "less than the 30,000 of 1 January 2025 (odometer.csv, line 2)"},
    ),
    "a fill far too high": Case(
        cells("fills.csv", {"odometer": "360000"}),
        {"odometer.csv:3: miles": "48,000 miles is less than the 360,000 of 1 June 2025 (fills.csv, line 2)"},
    ),
}

HEADERS = {
    "an unknown column": _text(
        "valuations.csv",
        "registration,valued_on,value,colour\nQA51ABC,2026-01-08,7900.00,blue\n",
        **{"valuations.csv:1: colour": "registration, valued_on, value"},
    ),
    "a column by the wrong name": _text(
        "valuations.csv",
        "registration,Valued on,value\nQA51ABC,2026-01-08,7900.00\n",
        **{"valuations.csv:1: Valued on": "not a column", "valuations.csv:1: valued_on": "missing"},
    ),
    "a column missing": _text(
        "valuations.csv",
        "registration,valued_on\nQA51ABC,2026-01-08\n",
        **{"valuations.csv:1: value": "missing from the header"},
    ),
    "a key missing": Case(
        SAMPLE | {"members.csv": "name,role\nAnn,member\n"},
        {"members.csv:1: email": "missing from the header"},
    ),
    "a column twice": _text(
        "valuations.csv",
        "registration,valued_on,value,value\nQA51ABC,2026-01-08,7900.00,1.00\n",
        **{"valuations.csv:1: value": "twice"},
    ),
    "a column without a name": _text(
        "valuations.csv",
        "registration,valued_on,value,\nQA51ABC,2026-01-08,7900.00,\n",
        **{"valuations.csv:1: (line)": "column 4 has no name"},
    ),
    "no header": _text(
        "odometer.csv",
        "QA51ABC,2025-01-01,30000\n",
        **{
            "odometer.csv:1: QA51ABC": "not a column",
            "odometer.csv:1: 2025-01-01": "not a column",
            "odometer.csv:1: 30000": "not a column",
            "odometer.csv:1: registration": "missing",
            "odometer.csv:1: read_on": "missing",
            "odometer.csv:1: miles": "missing",
        },
    ),
    "semicolons": _text(
        "valuations.csv",
        "registration;valued_on;value\nQA51ABC;2026-01-08;7900,00\n",
        **{"valuations.csv:1: (file)": "separated by semicolons; save it again"},
    ),
    "tabs": _text(
        "valuations.csv",
        "registration\tvalued_on\tvalue\nQA51ABC\t2026-01-08\t7900.00\n",
        **{"valuations.csv:1: (file)": "separated by tabs; save it again"},
    ),
    "a quotation mark never closed": _text(
        "costs.csv",
        SAMPLE["costs.csv"].replace('quotation"""', "quotation"),
        **{"costs.csv:3: (line)": "never closed"},
    ),
    "words after a quotation": _text(
        "valuations.csv",
        '\nregistration,valued_on,value\n\n"QA51ABC" or so,2026-01-08,7900.00\n',
        **{"valuations.csv:4: (line)": "follow a closing quotation mark"},
    ),
    "a NUL character": _text(
        "costs.csv",
        SAMPLE["costs.csv"].replace("μέρος", "\0"),
        **{"costs.csv:5: (file)": "NUL"},
    ),
}

#: What the later files may say wrong of the condition of a car.
CONDITION = {
    "a point's name with a space": Case(
        cells("points.csv", {}, {"name": "spare keys"}), {"points.csv:3: name": "no name of at most 40"}
    ),
    "a point of no group": _one("points.csv", "group", "roof", "outside, fluids"),
    "a point without words": _one("points.csv", "words", "", "is empty"),
    "a point twice": Case(more("points.csv"), {"points.csv:4: name": "repeats line 2"}),
    "points with commas": _one("checks.csv", "points", "tyre_tread,lamps", "no name of at most 40"),
    "a point looked at twice": _one("checks.csv", "points", "lamps lamps", "is in it twice"),
    "a point nobody knows": _one("checks.csv", "points", "lamps ashtray", "ashtray is no point of points.csv"),
    "a check of a car nobody knows": Case(
        cells("checks.csv", {}, {}, {"registration": "QZ99ZZZ"}), {"checks.csv:4: registration": "no car"}
    ),
    "a check by somebody nobody knows": _one("checks.csv", "member_email", "x@book.example", "no member"),
    "a check on no day": _one("checks.csv", "checked_on", "", "is empty"),
    "a check that took less than no time": _one("checks.csv", "seconds", "-3", "between 0 and"),
    "a check neither whole nor broken off": _one("checks.csv", "whole", "partly", "neither true nor false"),
    "a check's reference used twice": Case(more("checks.csv"), {"checks.csv:5: ref": "repeats line 2"}),
    "a defect of unknown severity": _one("defects.csv", "severity", "major", "dangerous, before_next_lesson"),
    "a defect found by nobody": _one("defects.csv", "found_by", "police", "check, mot, other"),
    "a defect without words": _one("defects.csv", "words", "", "is empty"),
    "a defect of a point nobody knows": _one("defects.csv", "point", "ashtray", "no point"),
    "a defect of a check nobody knows": _one("defects.csv", "check_ref", "k-9", "no check of checks.csv"),
    "a defect of another car's check": _one("defects.csv", "check_ref", "k-3", "check of QB02XYZ"),
    "a closed defect without its day": _one("defects.csv", "closed_on", "", "is empty though"),
    "an open defect with a closing day": Case(
        cells("defects.csv", {}, {"closed_on": "2025-10-10"}), {"defects.csv:3: closed_on": "is in_hand"}
    ),
    "a defect closed before it was found": Case(
        cells("defects.csv", {"found_on": "2026-01-08"}),
        {
            "defects.csv:2: closed_on": "before found_on",
            "defect_steps.csv:2: happened_on": "before the defect was found",
        },
    ),
    "a defect closed on another day than its step": _one("defects.csv", "closed_on", "2026-01-08", "says 2026-01-07"),
    "a defect in another state than its step": Case(
        cells("defects.csv", {}, {"state": "open"}),
        {"defects.csv:3: state": "is open, but its last step says in_hand (defect_steps.csv, line 14)"},
    ),
    "a defect graver than its step": Case(
        cells("defects.csv", {}, {"severity": "dangerous"}), {"defects.csv:3: severity": "its last step says watch"}
    ),
    "a defect closed without a step": _text(
        "defect_steps.csv",
        _HEADER["defect_steps.csv"],
        **{"defects.csv:2: state": "no step", "defects.csv:3: state": "no step"},
    ),
    "a step of a defect nobody knows": Case(
        more("defect_steps.csv", ref="d-9"), {"defect_steps.csv:16: ref": "no defect of defects.csv"}
    ),
    "a step of unknown state": _one("defect_steps.csv", "state", "done", "open, in_hand, waiting, closed"),
    "a step that waits though it is not dangerous": _one(
        "defect_steps.csv", "state", "waiting", "only a dangerous one waits"
    ),
    "a step that becomes less at once": _one("defect_steps.csv", "becomes", "watch", "only one that waits has it"),
    "a step of unknown evidence": _one("defect_steps.csv", "evidence", "hearsay", "photo, member"),
    "a step numbered from nought": _one("defect_steps.csv", "number", "0", "less than 1"),
    "a step that is missing": Case(
        cells("defect_steps.csv", {}, {}, {"number": "4"}), {"defect_steps.csv:4: number": "there is no step 3"}
    ),
    "a step before the one before it": Case(
        cells("defect_steps.csv", {"happened_on": "2026-01-06"}),
        {"defect_steps.csv:3: happened_on": "before the step before it, 2026-01-06"},
    ),
    "a step before its defect": _one("defect_steps.csv", "happened_on", "2026-01-04", "before the defect was found"),
    "a step twice": Case(more("defect_steps.csv"), {"defect_steps.csv:16: number": "repeats line 2"}),
    "a wheel the car has not": _one("treads.csv", "wheel", "spare", "front_left, front_right"),
    "more tread than any tyre has": _one("treads.csv", "inner", "15.1", "is more than 15"),
    "tread below nothing": _one("treads.csv", "outer", "-0.1", "less than 0"),
    "too fine a depth": _one("treads.csv", "centre", "6.55", "more than one decimal place"),
    "half a reading": _one("treads.csv", "centre", "", "is empty"),
    "two readings of one wheel and day": Case(more("treads.csv"), {"treads.csv:5: read_on": "repeats line 2"}),
    "a tyre moved to where it was": _one("tyre_moves.csv", "came_from", "front_left", "wheel it came to"),
    "a tyre from nowhere": _one("tyre_moves.csv", "came_from", "boot", "front_left, front_right"),
    "two tyres at one wheel": Case(more("tyre_moves.csv"), {"tyre_moves.csv:5: moved_on": "repeats line 2"}),
    "a completion of nobody's": _one("completions.csv", "member_email", "", "falls due on a member"),
    "a completion of an unknown kind": _one("completions.csv", "kind", "wash", "mot, vehicle_tax"),
    "a completion by somebody nobody knows": _one(
        "completions.csv", "recorded_by_email", "x@book.example", "no member"
    ),
    "a completion of what does not fall due": Case(
        cells("completions.csv", {}, {}, {"for_good": "false"}),
        {"completions.csv:4: kind": "no driving_licence stands in dues.csv or the book"},
    ),
    "a completion twice": Case(more("completions.csv"), {"completions.csv:10: number": "repeats line 2"}),
    "an item met twice on a day": Case(
        more("completions.csv", number="2"), {"completions.csv:10: number": "line 2 is of the same item and day"}
    ),
    "a confirmation of an unknown point": _one("confirmations.csv", "point", "colour", "tuition_insurance"),
    "a confirmation that says nothing": _one("confirmations.csv", "is_met", "", "is empty"),
    "a confirmation by somebody nobody knows": Case(
        cells("confirmations.csv", {"by_email": "x@book.example"}), {"confirmations.csv:2: by_email": "no member"}
    ),
    "two confirmations of one day": Case(
        more("confirmations.csv"), {"confirmations.csv:5: confirmed_on": "repeats line 2"}
    ),
}

#: What may be wrong with who kept a car when.
KEEPERS = {
    "a time that ends before it begins": Case(
        cells("keepers.csv", {}, {"to_on": "2025-04-10"}),
        {"keepers.csv:3: to_on": "2025-04-10 is before from_on, 2025-04-11"},
    ),
    "two keepers on one day": Case(
        cells("keepers.csv", {}, {"from_on": "2025-04-10"}),
        {"keepers.csv:3: from_on": "2025-04-10 is not after 2025-04-10, the end of another time (keepers.csv, line 2)"},
    ),
    "a time over two others": Case(
        cells("keepers.csv", {"to_on": "2025-06-30"}),
        {
            "keepers.csv:3: from_on": "2025-04-11 is not after 2025-06-30, the end of another time (keepers.csv, line",
            "keepers.csv:4: from_on": "2025-05-03 is not after 2025-06-30, the end of another time (keepers.csv, line",
        },
    ),
    "a first time without an end": Case(
        cells("keepers.csv", {"to_on": ""}),
        {"keepers.csv:2: to_on": "is empty, but another time begins on 2025-04-11 (keepers.csv, line 3)"},
    ),
    "another keeper than the car's": Case(
        cells("keepers.csv", {}, {}, {"member_email": "cy@book.example"}),
        {"keepers.csv:4: member_email": "is cy@book.example in the last time, but the car's keeper_email is ann@"},
    ),
    "a time with a keeper nobody knows": Case(
        cells("keepers.csv", {}, {"member_email": "x@book.example"}),
        {"keepers.csv:3: member_email": "x@book.example is no member"},
    ),
    "a time with a car nobody knows": Case(
        more("keepers.csv", registration="QZ99ZZZ"), {"keepers.csv:5: registration": "QZ99ZZZ is no car"}
    ),
    "a time that begins on no day": Case(
        cells("keepers.csv", {}, {"from_on": ""}), {"keepers.csv:3: from_on": "is empty, and must be given"}
    ),
    "two times from one day on": Case(
        more("keepers.csv"), {"keepers.csv:5: from_on": "repeats line 2: the same registration and from_on"}
    ),
    "a car registered to somebody nobody knows": Case(
        cells("cars.csv", {"registered_keeper": "x@book.example"}),
        {"cars.csv:2: registered_keeper": "x@book.example is no member"},
    ),
    "a car registered to no address": _one("cars.csv", "registered_keeper", "Hillside Finance", "address"),
}

CASES = KEEPERS | CELLS | ROWS | BETWEEN_ROWS | HEADERS | CONDITION
