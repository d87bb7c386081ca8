"""The kinds of due item, as data: what they are called, when notice begins, and what rests on them.

A source is named with its standing: read in the official text, read in a secondary text, or from memory.
"""

from typing import Literal, NamedTuple


class Kind(NamedTuple):
    """One kind of due item. ``usual_months`` is the interval, or how long cover runs, where nothing else says."""

    name: str
    words: str
    of: Literal["car", "member", "either"]
    to_do: str
    source: str
    notice_days: int = 30
    stops_car: bool = False  # overdue, it puts the car off the road
    is_legal: bool = False  # the law asks for it: its reminders cannot be turned off
    is_cover: bool = False  # runs until the day that was paid for: meeting it needs the next day
    usual_months: int | None = None
    cost_category: str = ""  # what meeting it for a car is booked as; empty: it is not a car's
    to_do_in_ni: str = ""  # where Northern Ireland has another authority

    def to_do_in(self, nation: str) -> str:
        """What is to be done about it in ``nation``, ``GB`` or ``NI``."""
        return self.to_do_in_ni if nation == "NI" and self.to_do_in_ni else self.to_do


_ALL = (
    Kind(
        "mot",
        "MOT",
        "car",
        "Book an MOT test.",
        "Road Traffic Act 1988 s.47 and GOV.UK, Getting an MOT (official); NI: nidirect (official)",
        stops_car=True,
        is_legal=True,
        cost_category="mot",
        to_do_in_ni="Book a vehicle test with DVA.",
    ),
    Kind(
        "vehicle_tax",
        "Vehicle tax",
        "car",
        "Tax the car with DVLA, then write in the book until when it is taxed.",
        "Vehicle Excise and Registration Act 1994 s.29 (from memory)",
        stops_car=True,
        is_legal=True,
        is_cover=True,
        cost_category="vehicle_tax",
    ),
    Kind(
        "insurance",
        "Insurance",
        "car",
        "Renew the policy, for driving tuition and tests, then write in the book until when it runs.",
        "Road Traffic Act 1988 s.143 (from memory)",
        stops_car=True,
        is_legal=True,
        is_cover=True,
        cost_category="insurance",
    ),
    Kind(
        "service",
        "Service",
        "car",
        "Book the service.",
        "the handbook's interval; common practice, no source",
        cost_category="servicing",
    ),
    Kind(
        "tyres",
        "Tyres",
        "car",
        "Have the tyres looked at, and replaced if need be.",
        "common practice, no source",
        cost_category="tyres",
    ),
    Kind(
        "dual_controls",
        "Dual controls inspection",
        "car",
        "Have the dual controls inspected.",
        "yearly: common practice, no source",
        usual_months=12,
        cost_category="servicing",  # upkeep; fit-out is what it cost to put them in
    ),
    Kind(
        "breakdown_cover",
        "Breakdown cover",
        "car",
        "Renew the cover, then write in the book until when it runs.",
        "common practice, no source",
        is_cover=True,
        cost_category="breakdown_cover",
    ),
    Kind(
        "adi_registration",
        "ADI registration",
        "member",
        "Have the criminal-record check done first: allow about three months. DVSA takes the renewal itself "
        "in the last month only. Without registration nobody may be taught for money.",
        "Road Traffic Act 1988 s.123 (official); renewal and lead time: DVSA notices, as instructor bodies "
        "repeat them (secondary)",
        notice_days=90,
        is_legal=True,
        is_cover=True,
        to_do_in_ni="Ask DVA when it takes the renewal, and which checks come first (from memory). Without "
        "registration nobody may be taught for money.",
    ),
    Kind(
        "pdi_licence",
        "PDI licence",
        "member",
        "Look into the next step with DVSA. Without a licence nobody may be taught for money.",
        "Road Traffic Act 1988 ss.123 and 129 (official); six months: from memory",
        is_legal=True,
        is_cover=True,
        usual_months=6,
        to_do_in_ni="Look into the next step with DVA. Without a licence nobody may be taught for money.",
    ),
    Kind(
        "driving_licence",
        "Driving licence photocard",
        "member",
        "Renew the photocard with DVLA; its last day is at 4b on the card.",
        "ten years, three from age 70: DVLA (secondary)",
        is_legal=True,
        is_cover=True,
        to_do_in_ni="Renew the photocard with DVA; its last day is at 4b on the card.",
    ),
    Kind(
        "other",
        "Other",
        "either",
        "See to it, then mark it done in the book.",
        "the member's own",
        cost_category="other",
    ),
)

#: By name, in the order in which kinds of equal urgency are listed.
KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
#: Either lets a member teach for money.
LICENCES_TO_TEACH = ("adi_registration", "pdi_licence")
#: What every car must have: listed for each, whether or not anything is recorded.
ALWAYS_LISTED = ("mot", "vehicle_tax", "insurance")
