"""Every quantity that the book takes, with its bounds and words: the same on a page, in a file and in a command.

Archive cells, form fields, command arguments and the keys of an offers document are thin adapters of these.
"""

from datetime import date
from decimal import Decimal

from config.quantities.kinds import Choice, Day, Email, Hours, Month, Number, Wrong

__all__ = ["Choice", "Hours", "Number", "Wrong"]

#: The largest number that a small whole-number column of the database holds.
_LARGEST_SMALL = 32_767

DAY = Day(date(1980, 1, 1), date(2100, 12, 31))
MONTH = Month(DAY)
EMAIL = Email()

# --- Miles and what is counted ---------------------------------------------------------------------------
#: An odometer has six figures.
MILES = Number(most=999_999, after=" miles", example="48,210")
SOME_MILES = MILES.within(least=1)
#: The mileage at which something falls due: a reading and an interval added up, so more than an odometer may show.
DUE_MILES = MILES.within(most=2 * MILES.most)
MILES_A_YEAR = MILES.within(most=200_000)
SOME_MILES_A_YEAR = MILES_A_YEAR.within(least=1)
TYRE_MILES = MILES.within(least=1, most=200_000)
COUNT = Number(most=_LARGEST_SMALL)
NUMBER = COUNT.within(least=1)
#: Typed of one week on a page.
CANCELLED = COUNT.within(most=200, after=" lessons")
MONTHS_APART = Number(least=1, most=240, after=" months", example="12")
MONTHS = Number(least=1, most=120, after=" months", example="24")
#: Up to ten years.
WEEKS = Number(most=520, after=" weeks", example="6")
SOME_WEEKS = WEEKS.within(least=1)
WEEKS_A_YEAR = Number(least=1, most=52, places=2, after=" weeks", example="46")
HOURS_A_WEEK = Number(most=168, places=2, after=" hours", example="26")
HOURS = Hours(Number(most=999_999, places=12, after=" hours"))
HOURS_OF_A_WEEK = Hours(Number(most=HOURS_A_WEEK.most, places=12, after=" hours"))
CO2 = Number(most=2_000, after=" g/km", example="118")
TREAD = Number(most=15, places=1, after=" mm", example="4.8", shown_places=1)
#: Litres or kWh in one fill.
FILL = Number(least=Decimal("0.001"), most=Decimal("9999.999"), places=3, after=" litres or kWh", example="34.5")

# --- Money and rates -------------------------------------------------------------------------------------
_MOST_POUNDS = Decimal("9999999.99")
#: Pounds paid, or below nought a refund.
PAID = Number(least=-_MOST_POUNDS, most=_MOST_POUNDS, places=2, before="£", example="45.20")
POUNDS = PAID.within(least=Decimal(0))
#: Typed on a page as one cost or bill: a sum beyond this is a slip, though an archive may hold it.
_MOST_ON_A_BILL = Decimal("99999.99")
BILL_POUNDS = POUNDS.within(most=_MOST_ON_A_BILL)
SOME_BILL_POUNDS = BILL_POUNDS.within(least=Decimal("0.01"))
COST_POUNDS = PAID.within(least=-_MOST_ON_A_BILL, most=_MOST_ON_A_BILL)
FILL_POUNDS = BILL_POUNDS.within(example="47.92")
LESSON_PRICE = POUNDS.within(most=1_000, example="38")
PENCE_A_MILE = Number(most=200, places=2, after=" pence", example="13.5")
PENCE_A_LITRE = Number(most=1_000, places=2, after=" pence", example="141.9")
PENCE_A_KWH = Number(most=1_000, places=2, after=" pence", example="31")
#: Miles to the imperial gallon, and to the kWh.
MPG = Number(least=1, most=500, places=2, after=" mpg", example="47.5")
MILES_A_KWH = Number(least=Decimal("0.1"), most=50, places=2, after=" miles a kWh", example="3.6")
EXCESS_PENCE = PENCE_A_MILE.within(most=Decimal("9999.99"), example="9.5")
APR = Number(most=Decimal("999.99"), places=2, after="%", example="11.9")
PERCENT = Number(most=100, places=2, after="%", example="26")
SHARE = Number(most=1, places=6, example="0.26")
#: The share of the planned miles that comes on top; below nought, fewer miles.
MORE_MILES = SHARE.within(least=-1, most=5)
#: The share of its value that a car loses in a year, which is never all of it.
YEARLY_LOSS = SHARE.within(most=Decimal("0.9999"), places=4, hint="; write 15% a year as 0.15")
YEARLY_LOSS_PERCENT = PERCENT.within(most=Decimal("99.99"), example="15")
#: No real agreement has this many instalments; an offer is compared over ten years at most.
PAYMENTS = Number(least=1, most=1_200, example="36")
OFFER_PAYMENTS = PAYMENTS.within(most=WEEKS.most)
#: Any figure of an offer that may be uncertain, in its own unit.
FIGURE = Number(most=1_000_000, places=2, example="450.00")
