"""An offers file without a fault, and ways to spoil it.

A spoilt file is the sample with another text in one place; the line that the fault must name bears the mark ``#!``.
"""

from typing import NamedTuple

SAMPLE = """\
[use]
starts_on = 2027-03-08
months = 36
miles_per_year = 31000
private_miles_per_year = 4500
lesson_hours_per_week = 29.5
weeks_taught_per_year = 44
lesson_hour_price = 41.00
discount_rate = 0.03
marginal_tax_rate = 0.28
cash_in_hand = 5250.00
put_by_per_month = 480.00
leaving = [{ month = 11, chance = 0.15 }, { month = 23, chance = 0.2 }]

[running]
fuel = { mpg = 52.0, pence_per_litre = 146.5 }
insurance = [1260.00, 1085.00, 940.00]
insurance_given_back = 0.4
vehicle_tax_per_year = 195.00
breakdown_per_year = 72.50
mot = 54.85
servicing_per_year = 315.00
repairs_per_year = { low = 180.00, likely = 455.00, high = 1600.00 }
tyre_set = 348.00
tyre_set_miles = 22000
fit_out = 515.00

[[offer]]
name = "Electric supermini on PCP"
kind = "pcp"
first_registered = 2027-02-20
price = 21450.00
deposit = 2350.00
payment = 268.40
payments = 48
frequency = "month"
final_payment = 8900.00
quoted_apr = 5.9
value_now = 19900.00
value_at_horizon = 11800.00
at_end = "sell"
mileage_allowance = 14000
excess_pence_per_mile = 8.4
damage = 275.00
  [offer.running]
  fuel = { miles_per_kwh = 4.1, pence_per_kwh = { low = 8.5, likely = 24.0, high = 64.0 } }
  repairs_per_year = 240.00

[[offer]]
name = "Saloon on contract hire"
kind = "contract_hire"
deposit = 1080.00
payment = 342.00
payments = 42
mileage_allowance = 25000
excess_pence_per_mile = 7.2
damage = 420.00
includes = ["vehicle_tax", "breakdown", "servicing", "tyres"]
early_exit = { kind = "share_of_remaining", value = 0.5 }

[[offer]]
name = "Estate"
kind = "owned"
price = 6350.00
value_at_horizon = 2900.00

[[what_if]]
name = "A broken wrist"
weeks_off = { from_week = 31, weeks = 9 }

[[what_if]]
name = "Gone after a year"
leave_at_month = 12

[[uncertain]]
input = "miles_per_year"
low = 24000
likely = 31000
high = 36000

[[uncertain]]
input = "value_at_horizon"
offer = "Estate"
low = 1900.00
likely = 2900.00
high = 3400.00
"""


class Case(NamedTuple):
    """A spoilt file, and of its fault the key (nothing for the file as a whole) and a part of what is said."""

    text: str
    key: str
    words: str

    def marked(self, line: str, nth: int = 1) -> "Case":
        """The same with the mark on another line, the ``nth`` that reads so."""
        before, *after = self.text.replace(" #!", "").replace("#!", "").split(line)
        return self._replace(text=f"{line.join([before, *after[: nth - 1]])}{line} #!{line.join(after[nth - 1 :])}")


def spoilt(old: str, new: str, key: str, words: str, text: str = SAMPLE) -> Case:
    """The sample, or another ``text``, with ``new`` where ``old`` stands first; marks that line unless ``new`` does."""
    assert old in text, old
    before, _, after = text.partition(old)
    if "#!" not in new:
        rest, end, after = (new + after).partition("\n")
        return Case(f"{before}{rest} #!{end}{after}", key, words)
    return Case(before + new + after, key, words)


def spoilt_twice(one: tuple[str, str], other: tuple[str, str], key: str, words: str) -> Case:
    """The sample with another text in two places, the second of which is marked."""
    assert one[0] in SAMPLE, one
    return spoilt(*other, key, words, text=SAMPLE.replace(*one, 1))
