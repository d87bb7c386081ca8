"""A car in April 2027, of which a little is known, for worked examples."""

from datetime import date

from costing.core.records import Agreement, CarBook, Fill, Logged, Period, Reading, Service, Teaching, Unit

ANN, BEN = 1, 2
FIRST, LAST = date(2027, 4, 1), date(2027, 4, 30)
APRIL = Period(FIRST, LAST)


def april(day: int) -> date:
    return date(2027, 4, day)


def fill(day: date, miles: int, unit: Unit = "litre", *, anothers: bool = False) -> Fill:
    return Fill(day, miles, 40_000, unit, 5_600, brimmed=True, gap_before=anothers, is_anothers=anothers)


#: Known to 20 April, by each of the three.
BOOK = CarBook(
    Service(date(2027, 1, 1), None),
    readings=(Reading(date(2027, 1, 1), 8_000),),
    fills=(fill(date(2027, 1, 2), 8_050), fill(april(20), 12_500)),
    teaching=(Teaching(date(2027, 1, 1), april(20), 300, 27_000, 400),),
    agreements=(Agreement(date(2027, 1, 1), "owned", 900_000),),
    logged=(Logged(ANN, date(2027, 1, 1), april(20)),),
)
#: Nothing lacks of the fuel and the lessons for all the month.
FUELLED = (fill(date(2027, 1, 2), 8_050), fill(LAST, 12_900))
LOGGED = (Logged(ANN, date(2027, 1, 1), LAST),)
