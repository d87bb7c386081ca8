"""The questions about a doubtful fill, cost or week of lessons (`fleet.wording.doubts` says how these are written)."""

from costing.core.catalogue.agreements import OWNED
from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.plausible.logged import DAY_FIELDS
from fleet.wording.doubts import DAY_DOUBTS, ODOMETER_DOUBTS

#: That what looks like another entry is one of its own.
_ANOTHER = "Yes, another one"
FILL_DOUBTS = {
    **ODOMETER_DOUBTS,
    **DAY_DOUBTS,
    "nothing_paid_litre": "Nothing paid for {quantity:amount} litres?",
    "nothing_paid_kwh": "Nothing paid for {quantity:amount} kWh?",
    "price_litre": "{price:pence} a litre? You usually pay about {usual:pence}.",
    "price_litre_new": "{price:pence} a litre? Hardly any pump asks that.",
    "price_kwh": "{price:pence} a kWh? That is not what you usually pay.",
    "price_kwh_new": "{price:pence} a kWh? Hardly anybody pays that.",
    "much_litre": "{quantity:amount} litres at once? This car hardly takes so much.",
    "much_kwh": "{quantity:amount} kWh at once? This car hardly takes so much.",
    "few_litre": "{quantity:amount} litres for {miles:whole} miles? This car uses far less.",
    "few_kwh": "{quantity:amount} kWh for {miles:whole} miles? This car uses far less.",
    "many_litre": "{miles:whole} miles on {quantity:amount} litres? This car does not go so far on that.",
    "many_kwh": "{miles:whole} miles on {quantity:amount} kWh? This car does not go so far on that.",
    "same_fill": "One like this for {paid:pounds} is in the book already. Is this another one?",
    "+same_fill": _ANOTHER,
    "=swap_litre": "Swap £ and litres",
    "=swap_kwh": "Swap £ and kWh",
    "=gap": "One before it is missing",
    "=part_litre": "Not to the brim",
    "=part_kwh": "Not charged so full",
    "=amount": "{amount:sum}",
    "=unit_kwh": "It was charge",
    "=unit_litre": "It was petrol or diesel",
    "=quantity": "{quantity}",
    "=filled_on": "{filled_on:date}",
}
COST_DOUBTS = {
    **DAY_DOUBTS,
    "sum": "{amount:pounds} for {category:low}? You usually pay about {usual:about}.",
    "sum_year": "{amount:pounds} for {days:part}{category:low}? A year of it usually costs you about {usual:about}.",
    "sum_group": "{amount:pounds} for {days:part}{category:low}? "
    "In your co-op a year of it usually costs about {usual:about}.",
    "sum_new": "{amount:pounds} for {days:part}{category:low}? That is far from what it usually costs.",
    "sum_mot": "{amount:pounds} for an MOT? A test may cost {most:pounds} at most.",
    "refund_unpaid": "{amount:pounds} back for {category:low}? You have never paid so much for that.",
    "same_cost": "{amount:pounds} for {category:low} on {day:date} is in the book already. Is this another one?",
    "+same_cost": _ANOTHER,
    "awaited": "Is this the payment of {day:date} that the book enters by itself, {pence:pounds} for {category:low}?",
    "=in_place": "Yes, in its place",
    "+awaited": "No, another one",
    "lasts": "{miles:whole} miles from a set of tyres?",
    "cover_overlap": "The cover before lasts until {until:date}. Are these days to be covered twice?",
    "cover_gap": "The cover before ended on {until:date}. Is there none between then and {from:date}?",
    "cover_length": "{days:whole} days of cover? It is usually for a month, three, six or twelve.",
    "paid_before": "Paid {days:whole} days before its cover begins?",
    "paid_after": "Paid {days:whole} days after its cover began?",
    "=amount": "{amount:sum}",
    "=covers_miles": "{covers_miles:whole} miles",
    "=paid_on": "{paid_on:date}",
    "=cover": "{covers_from:date} to {covers_to:date}",
    "=paid": "Not a refund",
    **{f"=as_{row.name}": row.words for row in ENTRY_CATEGORIES},
}
LESSON_DOUBTS = {
    **DAY_DOUBTS,
    "lessons_day": "{lessons:whole} lesson{lessons:s} in one day?",
    "lessons_span": "{lessons:whole} lesson{lessons:s} in {days:whole} day{days:s}?",
    "lessons_day_sum": "{lessons:whole} lessons in one day, with those in the book?",
    "hours_day": "{minutes:hours} hours of lessons in one day?",
    "hours_day_sum": "{minutes:hours} hours of lessons in one day, with those in the book?",
    "hours_span": "{minutes:hours} hour{minutes:hs} in {days:whole} day{days:s}?",
    "lesson_length": "{lessons:whole} lesson{lessons:s} in {minutes:hours} hour{minutes:hs}? "
    "That makes {each:long} for each.",
    "private_far": "{private:whole} private miles? That is far more than usual.",
    "private_much": "{private:whole} private miles? The car ran {ran:whole} in these days.",
    "stood_still": "Lessons: {lessons:whole}. Yet the car ran only {ran:whole} miles in these days?",
    "week_taken": "These days have {lessons:whole} lesson{lessons:s} in the book. Add to that week, or replace it?",
    "week_beyond": "These days and others are one record in the book, of {lessons:whole} lesson{lessons:s}. "
    "Add to it, or correct that record?",
    "=week_beyond": "Correct that record",
    "days_taken": "These days have {lessons:whole} lesson{lessons:s} in the book. Are these more of them?",
    "+days_taken": "Yes, more of them",
    "=week_add": "Add to it",
    "=week_replace": "Replace it",
    "=hours": "{hours:taught}",
    "=minutes": "{minutes:taught}",
    "=lesson_count": "{lesson_count:whole}",
    "=private_miles": "{private_miles:whole}",
    "=swap_lessons": "Swap lessons and hours",
    "=other_days": "{from_on:date} to {to_on:date}",
    **{f"={field}": f"{{{field}:whole}}" for field in DAY_FIELDS},
}
AGREEMENT_DOUBTS = {
    "price_far": "{price:pounds} for a car? Hardly any costs that.",
    "payment_far": "{payment:pounds} each {each}? That is far from what a car usually costs.",
    "payments_far": "{payments:whole} payments, one each {each}? Hardly any agreement runs for {years:whole} years.",
    "allowance_far": "{miles:whole} miles a year? Hardly any agreement allows that.",
    "deposit_high": f"The deposit is as high as the price, so nothing is borrowed: choose “{OWNED.words}”.",
    "repaid_low": "All the payments come to less than was borrowed: check the figures.",
    "apr_high": "These figures come to an APR of {apr:amount}%. Are they right?",
    "apr_far": "The quote says {quoted:amount}%, but these figures come to {apr:amount}%.",
    "=by_week": "Weekly payments",
    "=by_month": "Monthly payments",
    "=swap_deposit": "Swap price and deposit",
    "=quoted_apr": "{quoted_apr}%",
    "=payments": "{payments:whole} payments",
    "=mileage_allowance": "{mileage_allowance:whole} miles",
    **{f"={name}": f"{{{name}:sum}}" for name in ("price", "deposit", "payment", "final_payment")},
}
VALUATION_DOUBTS = {
    "value_far": "{value:pounds} for a car? Hardly any is worth that.",
    "value_above_price": "{value:pounds}? That is more than the {price:pounds} that it cost.",
    "value_above": "{value:pounds}? On {since:date} it was worth {last:pounds}.",
    "value_below": "{value:pounds}? On {since:date} it was worth {last:pounds}: that is a steep fall.",
    "=value": "{value:sum}",
    "=valued_on": "{valued_on:date}",
}
TAKINGS_DOUBTS = {
    "takings_hour": "{amount:pounds} for {minutes:hours} hour{minutes:hs}? That makes {each:pounds} an hour. "
    "You usually take about {usual:about}.",
    "takings_hour_new": "{amount:pounds} for {minutes:hours} hour{minutes:hs}? That makes {each:pounds} an hour.",
    "takings_week": "{amount:pounds} in a week? You usually take about {usual:about}.",
    "takings_week_new": "{amount:pounds} in a week? Hardly anybody takes so much.",
    "week_told": "{there:pounds} is in the book for this week already. Is {amount:pounds} to stand in its place?",
    "=instead": "Put it in its place",
    "cancelled_many": "{lessons:whole} lessons cancelled in one week?",
    "cancelled_long": "{minutes:hours} hours cancelled in one week?",
    "cancelled_length": "{lessons:whole} lesson{lessons:s} in {minutes:hours} hour{minutes:hs}? "
    "That makes {each:long} for each.",
    "=amount": "{amount:sum}",
    "=cancelled_count": "{cancelled_count:whole} lessons",
    "=cancelled_minutes": "{cancelled_minutes:taught}",
}
POT_BILL_DOUBTS = {
    **{reason: words for reason, words in COST_DOUBTS.items() if reason.startswith("sum")},
    "sum_last": "{amount:pounds} for {category:low}? The last price in your pot is {usual:pounds}.",
    "bill": "{amount:pounds} for the {title:low}? So far it was about {usual:about}.",
    "bill_new": "{amount:pounds} for the {title:low}? That is far from what is usual.",
    "same_bill": "{amount:pounds} for the {title:low} on {day:date} is in your list already. Is this another one?",
    "+same_bill": _ANOTHER,
    "same_quote": "{amount:pounds} for the {title:low} is in your list already. Is this another one?",
    "+same_quote": _ANOTHER,
    "near_bill": "{there:pounds} for the {title:low} on {day:date} is in your list already. "
    "Is {amount:pounds} another one?",
    "+near_bill": _ANOTHER,
    "=instead": "No, put it in its place",
    "bill_past": "{day:date} has passed. Has it been paid? Then it no longer counts.",
    "+bill_past": "Yes, it has been paid",
    "bill_far": "{day:date}? That is more than ten years ahead.",
    "=amount": "{amount:sum}",
    "=due_on": "{due_on:date}",
    "=now": "No, it is to be paid now",
    "=yearly": "It comes every year",
    "=leave_out": DAY_DOUBTS["=leave_out"],
}
POT_DOUBTS = {
    "pot_last": "{balance:pounds} in the pot? On {since:date} it was {last:pounds}.",
    "pot_bills": "{balance:pounds} in the pot? The bills of the next 12 months come to {total:pounds}.",
    "pot_new": "{balance:pounds} in the pot? That is far more than a car’s bills usually come to.",
    "weekly_bills": "{weekly:pounds} each week? The bills of the next 12 months come to {evenly:pounds} a week.",
    "weekly_new": "{weekly:pounds} each week? That is far more than a car’s bills usually come to.",
    "holiday_long": "{weeks:whole} weeks of holiday in these 12 months? Nothing is put by in any of them.",
    "=balance": "{balance:sum}",
    "=weekly": "{weekly:sum}",
    "=monthly": "{weekly:sum}, if that was a month’s",
}
_SUMS_A_WEEK = ("wanted", "other_costs", "car_a_week")
CHARGE_DOUBTS = {
    "charge_taken": "{price:pounds} an hour? You usually take about {usual:about} an hour.",
    "charge_before": "{price:pounds} an hour? You said {usual:pounds} before.",
    "charge_new": "{price:pounds} an hour? Hardly anybody charges that.",
    "hours_many": "{minutes:hours} hours taught in a week?",
    "hours_book": "{minutes:hours} hours taught in a week? In the book it is {usual:hours}.",
    "weeks_few": "{weeks} weeks taught in a year?",
    "mile_book": "{typed} pence a mile? In the book it is {usual}.",
    "mile_new": "{typed} pence a mile? That is far from what is usual.",
    **{f"{name}_before": "{sum:pounds} a week? You said {usual:pounds} before." for name in _SUMS_A_WEEK},
    **{f"{name}_new": "{sum:pounds} a week? That is far from what is usual." for name in _SUMS_A_WEEK},
    **{f"={name}": f"{{{name}:sum}}" for name in ("lesson_hour_price", *_SUMS_A_WEEK)},
    "=hours_a_week": "{hours_a_week} hours",
    "=weeks_a_year": "{weeks_a_year} weeks",
    "=car_pence_a_mile": "{car_pence_a_mile} pence",
    "=swap_weeks": "Swap hours and weeks",
}
_HOW_OFTEN = {"week": "every week", "month": "every month", "quarter": "every three months", "year": "every year"}
REPEAT_DOUBTS = {
    **COST_DOUBTS,
    **{
        f"same_repeat_{interval}": f"{{amount:pounds}} {words} for {{category:low}} repeats already, "
        "from {since:date} on. Is this another one?"
        for interval, words in _HOW_OFTEN.items()
    },
    **{f"+same_repeat_{interval}": _ANOTHER for interval in _HOW_OFTEN},
    "=starts_on": "{starts_on:date}",
}

#: By kind of entry.
DOUBT_WORDS = {"fill": FILL_DOUBTS, "cost": COST_DOUBTS, "week": LESSON_DOUBTS, "lessons": LESSON_DOUBTS}
