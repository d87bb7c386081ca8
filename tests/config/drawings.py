"""One drawing of each kind, of a made-up co-op: what the golden files show."""

from datetime import date

from config.charts.brims import Brim, Brims
from config.charts.chances import Branch, ChancesTree
from config.charts.changes import ChangesFromUpright
from config.charts.dial import LessonHourDial
from config.charts.even import BreakEven
from config.charts.lanes import Lane, LanesAhead
from config.charts.marks import Drawn
from config.charts.money import MoneyOfOffers, OfferBar
from config.charts.months import Across, Column, Group, MonthsStacked
from config.charts.pound import EachPound, Part
from config.charts.price import Paid, PricePaid
from config.charts.ranges import OfferRange, RangesOfOffers
from config.charts.road import Item, RoadAhead
from config.charts.room import RoomBelow
from config.charts.totals import Band, OfferLine, RunningTotals
from config.charts.tread import Limit, Reading, TreadNow, TreadOverMiles, Wheel

GROUPS = (
    Group("value", "Loss of value", "Value"),
    Group("fuel", "Fuel, charge", "Fuel"),
    Group("finance", "Finance, hire", "Finance"),
    Group("insurance", "Insurance", "Insurance"),
    Group("service", "Service, repairs", "Service"),
    Group("rest", "All else", "Else"),
    Group("tyres", "Tyres", "Tyres"),
    Group("tax", "Tax, MOT", "Tax, MOT"),
)
TONE_NAMES = [group.tone for group in GROUPS]
_MONTHS = (
    ("November 2025", (112, 164, 23, 75, 18, 14, 27, 24)),
    ("December 2025", (152, 165, 31, 102, 22, 22, 28, 32)),
    ("January 2026", (114, 168, 23, 77, 15, 12, 26, 24)),
    ("February 2026", (119, 166, 24, 80, 14, 12, 26, 25)),
    ("March 2026", (109, 162, 22, 73, 114, 16, 27, 25)),
    ("April 2026", (125, 158, 26, 83, 12, 14, 25, 26)),
    ("May 2026", ()),
    ("June 2026", (106, 152, 21, 71, 20, 20, 27, 22)),
    ("July 2026", (111, 158, 23, 77, 14, 12, 26, 24)),
    ("August 2026", (158, 161, 33, 105, 22, 14, 27, 37)),
    ("September 2026", (116, 164, 24, 81, 15, 13, 26, 25)),
    ("October 2026", (110, 170, 22, 73, 20, 14, 26, 23)),
)
_NOTES = {"March 2026": "service", "August 2026": "£5.57 in 70 h"}
_GROUP = (460, 520, 460, 480, 480, 480, None, 440, 460, 540, 460, 460)

MONTHS = MonthsStacked(
    "A lesson hour cost £4.58 in October, 2p less than the group",
    GROUPS,
    tuple(
        Column(words, words[:3], words[0], dict(zip(TONE_NAMES, pence, strict=False)), _NOTES.get(words, ""))
        for words, pence in _MONTHS
    ),
    Across("Group", _GROUP),
    whole="You",
)

_A = tuple(1_300_00 + 46_200 * month for month in range(1, 37))
# Its term ends in month 30, and its hire renews.
_B = tuple(7_250_00 + 39_700 * month + (1_900_00 if month > 30 else 0) for month in range(1, 37))
_C = tuple(93_000 * month for month in range(1, 37))
TOTALS = RunningTotals(
    "A costs the least from month 3 on",
    (
        OfferLine("A", "Used petrol hatch", _A),
        OfferLine("B", "New electric", _B, frozenset(range(24, 37)), frozenset({31})),
        OfferLine("C", "Weekly rental", _C),
    ),
    (
        Band(
            _A,
            tuple(pence + 10_000 * month for month, pence in enumerate(_A, 1)),
            ("band: A’s repairs,", "nothing to £100 a month"),
        ),
    ),
)


def _parts(*pence: int) -> tuple[Part, ...]:
    return tuple(Part(group.tone, group.short_words, sum_) for group, sum_ in zip(GROUPS, pence, strict=True) if sum_)


POUND = EachPound("Fuel takes 37p of each pound", _parts(11579, 17895, 2316, 7684, 2105, 1474, 2737, 2421))
MONEY = MoneyOfOffers(
    "C goes on hire, A on fuel and loss of value",
    (
        OfferBar(
            "A",
            "Used petrol hatch",
            _parts(4_000_00, 7_248_00, 548_00, 2_940_00, 960_00, 720_00, 780_00, 750_00),
            "repairs",
        ),
        OfferBar("B", "New electric", _parts(0, 3_480_00, 12_200_00, 3_700_00, 0, 720_00, 780_00, 669_00)),
        OfferBar("C", "Weekly rental", _parts(0, 7_248_00, 26_208_00, 0, 0, 0, 0, 0)),
    ),
)
CHANGES = ChangesFromUpright(
    "A lesson hour cost £1.29 less than in August; what moved most: loss of value, 47p less",
    (Part("ink", "Hours taught", -36), *_parts(-47, 10, -10, -32, 0, -4, 0, 0), Part("ink", "The rest", -10)),
)
RANGES = RangesOfOffers(
    "B is the cheapest in most draws",
    (
        OfferRange("A", "Used petrol hatch", 16_900_00, 18_900_00, 22_400_00),
        OfferRange("B", "New electric", 20_900_00, 21_549_00, 22_300_00),
        OfferRange("C", "Weekly rental", 33_456_00, 33_456_00, 33_456_00),
    ),
)
ROOM = RoomBelow(
    "Your own car is cheaper as long as all the rest stays below £391 a month", "A", "your own is cheaper", "£391"
)

CHANCES = ChancesTree(
    "The likeliest way: you stay to month 36",
    (
        Branch(0.25, 7, "25 in 100", "Leave in month 7"),
        Branch(0.1, 13, "10 in 100", "Leave in month 13"),
        Branch(0.65, 36, "65 in 100", "Stay to month 36"),
    ),
)

TODAY = date(2026, 11, 25)
ROAD = RoadAhead(
    "The MOT runs out in 24 days",
    TODAY,
    (
        Item("Service", date(2026, 12, 14), "due", 30),
        Item("MOT", date(2026, 12, 19), "due", 30),
        Item("Insurance", date(2027, 1, 9), "later"),
        Item("Tax", date(2027, 2, 9), "later"),
    ),
)
BUSY_ROAD = RoadAhead(
    "Five things fall due in the co-op by 19 December",
    TODAY,
    (
        Item("Tax", date(2026, 11, 20), "overdue"),
        Item("MOT", date(2026, 11, 30), "due"),
        Item("Service", date(2026, 12, 3), "booked"),
        Item("Insurance", date(2026, 12, 7), "due"),
        Item("Service", date(2026, 12, 14), "due"),
        Item("MOT", date(2026, 12, 19), "due"),
        Item("Tax", date(2026, 12, 19), "later"),
    ),
)
CLOSED_ROAD = RoadAhead("QA12 HVF is off the road", TODAY, (Item("Tax", date(2027, 1, 28), "later"),), is_closed=True)
EMPTY_ROAD = RoadAhead("Nothing falls due in twelve weeks", TODAY, ())
LANES = LanesAhead(
    "Two cars are off the road, and three have something due by 19 December",
    TODAY,
    (
        Lane("QA12 HVF", "Iolanthe Byrd", (Item("Tax", date(2027, 1, 25), "later"),), is_closed=True),
        Lane(
            "QA73 HVE",
            "Ravi Senanayake",
            (Item("MOT", date(2026, 11, 30), "due"), Item("Tax", date(2027, 2, 3), "later")),
        ),
        Lane("QA23 HVD", "Ngozi Adeleye", (Item("Service", date(2026, 12, 3), "booked"),)),
        Lane("QA69 HVA", "Maren Oakes", ROAD.items),
        Lane("QA17 HVH", "Δάφνη Καρρά", ()),
    ),
)

LIMITS = (Limit(1.6, "the law"), Limit(3.0, "common practice"))
TREAD = TreadNow(
    "Two tyres are below 3 mm",
    (Wheel("Front left", 2.6), Wheel("Front right", 2.9), Wheel("Rear left", 6.4), Wheel("Rear right", None)),
    LIMITS,
)
WEAR = TreadOverMiles(
    "The front left tyre wears 0.4 mm in 1,000 miles",
    (Reading(31_200, 6.1), Reading(34_900, 4.9), Reading(38_100, 3.4), Reading(41_700, 2.6)),
    (Reading(31_200, 6.1), Reading(45_000, 1.25)),
    LIMITS,
)

_BRIMMED = (date(2026, 8, 1), date(2026, 8, 9), date(2026, 8, 17), date(2026, 8, 23), date(2026, 8, 30))
_BRIMMED += (date(2026, 9, 6), date(2026, 9, 14), date(2026, 9, 21), date(2026, 9, 30), date(2026, 10, 9))
_BRIMMED += (date(2026, 10, 20), date(2026, 10, 30))
_MPG = (4720, 4610, 4800, 4750, 4660, 4580, 4790, 4690, 4420, 4310, 4400, 4290)
_MEANS = (4720, 4665, 4710, 4720, 4708, 4680, 4716, 4694, 4628, 4558, 4522, 4422)
BRIMS = Brims(
    "Miles a gallon: 44.2 over the last five fills, below the usual band of the 24 before",
    tuple(map(Brim, _BRIMMED, _MPG, _MEANS)),
    (4530, 4830),
)
PRICE = PricePaid(
    "A litre cost 139.7p at the last fill",
    tuple(
        Paid(on, tenths)
        for on, tenths in zip(
            _BRIMMED,
            (1339, 1339, 1329, 1349, 1359, 1359, 1369, 1364, 1379, 1389, 1399, 1397),
            strict=True,
        )
    ),
)
DIAL = LessonHourDial("7 minutes of each lesson hour at £38 go to the car", 72)
EVEN = BreakEven("11 hours a week pay for the car", 3_800, 512.5, 341_20, 10.4, 24)
NEVER_EVEN = BreakEven("No number of hours pays for the car", 500, 512.5, 341_20, None, 24.5)

DRAWINGS: dict[str, Drawn] = {
    "even": EVEN,
    "even-never": NEVER_EVEN,
    "months": MONTHS,
    "totals": TOTALS,
    "pound": POUND,
    "money": MONEY,
    "changes": CHANGES,
    "ranges": RANGES,
    "room": ROOM,
    "chances": CHANCES,
    "road": ROAD,
    "road-busy": BUSY_ROAD,
    "road-closed": CLOSED_ROAD,
    "road-empty": EMPTY_ROAD,
    "lanes": LANES,
    "tread": TREAD,
    "wear": WEAR,
    "brims": BRIMS,
    "price": PRICE,
    "dial": DIAL,
}
