"""The catalogue of due kinds: one row says everything about a kind, and its name is spelled nowhere else.

A source is named with its standing: official, or secondary if it was read in a text that repeats the official one.
Where neither settles it, the source says who to check with.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal, NamedTuple


class MetBy(StrEnum):
    """How an item is met, and what decides when it falls due again."""

    INTERVAL = "interval"  # done; comes back after so many months or miles, if at all
    COVER = "cover"  # renewed; runs until the day that the new paper names
    MOT_TEST = "mot_test"  # passed; the rule of MOT certificates gives the next day, and failing meets nothing


class Ask(NamedTuple):
    """How a form asks for a day."""

    label: str
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueKind:
    """One kind of due item. Only the first five fields have no default."""

    name: str  # as stored and as in archives; at most 16 characters
    words: str
    of: Literal["car", "member", "either"]
    to_do: str
    source: str
    to_do_in_ni: str = ""  # where Northern Ireland has another authority
    to_enter: str = "Enter when it falls due."  # what to do while nothing is recorded

    met_by: MetBy = MetBy.INTERVAL
    usual_months: int | None = None  # the interval, or how long cover runs, where nothing else says
    by_miles: bool = False  # on a car it may fall due at a mileage too
    asks_odometer: bool = False  # its paper shows the odometer, so the page on which it is met asks for that
    named_by_note: bool = False  # the member's note is its title
    confirms_tuition: bool = False  # its paper says whether driving tuition is covered
    record_check_first: bool = False  # in GB renewed by the days of ``fleet.core.recurrence``

    notice_days: int = 30
    is_legal: bool = False  # the law asks for it: its reminders cannot be turned off
    always_listed: bool = False  # every car must have it: listed whether or not anything is recorded
    stops_car: bool = False  # once overdue, it puts the car off the road
    lets_teach: bool = False  # one such credential is enough to teach for money
    held_by: tuple[str, ...] = ()  # the grades that must hold it, as ``instructors.models.Grade`` names them

    cost_category: str = ""  # what meeting it for a car is booked as; empty: it is not a car's
    after_cost: str = ""  # what is asked once a cost of that category is logged; empty: nothing
    lasts_miles: bool = False  # its cost may be spread over the miles that it lasts

    last_day: Ask | None = None  # asks for its last good day, where a paper names that
    done_day: str = ""  # what the day on which it was met is called
    of_new_car: Ask | None = None  # asks for its day when an offer becomes a car
    in_date: str = ""  # the point of readiness that it is in date; empty: there is no such point

    column: str = ""  # what heads its column on the board; empty: it shares the last one with the others
    by_tread: bool = False  # the tread of the tyres tells how it stands too

    @property
    def is_cover(self) -> bool:
        """Whether it is paid for until a day: renewing it needs that day, and no appointment."""
        return self.met_by is MetBy.COVER

    @property
    def is_mot(self) -> bool:
        """Whether it follows the rules of MOT tests and certificates."""
        return self.met_by is MetBy.MOT_TEST

    @property
    def done_words(self) -> str:
        """The words on the button that records it as met."""
        return "Record renewal" if self.is_cover else "Record as done"

    @property
    def words_within(self) -> str:
        """The words as used inside a sentence: lower case unless they start with an abbreviation."""
        return self.words if self.words[1:2].isupper() else self.words[:1].lower() + self.words[1:]

    def belongs_to(self, subject: Literal["car", "member"]) -> bool:
        """Whether a car, or a member, can have items of this kind."""
        return self.of in (subject, "either")

    def goes_by_miles(self, *, of_car: bool) -> bool:
        """Whether an item of this kind may fall due at a mileage: only a car has an odometer."""
        return of_car and self.by_miles

    def title(self, note: str) -> str:
        """The name of an item of this kind with that note."""
        return note if self.named_by_note and note else self.words

    def to_do_in(self, nation: str) -> str:
        """What to do about it in ``nation``, ``GB`` or ``NI``."""
        return self.to_do_in_ni if nation == "NI" and self.to_do_in_ni else self.to_do


_ALL = (
    DueKind(
        name="mot",
        words="MOT",
        of="car",
        to_do="Book an MOT test.",
        source="Road Traffic Act 1988 s.47 and GOV.UK, Getting an MOT (official); NI: nidirect (official)",
        to_do_in_ni="Book a vehicle test with DVA.",
        to_enter="Enter the last day on the MOT certificate.",
        met_by=MetBy.MOT_TEST,
        asks_odometer=True,
        is_legal=True,
        always_listed=True,
        stops_car=True,
        cost_category="mot",
        after_cost="The fee is logged. Has the car passed?",
        last_day=Ask(
            "Last day of the MOT certificate", "If it has not had one yet, the day by which it needs its first."
        ),
        done_day="Day of the test",
        of_new_car=Ask("MOT until", "Leave this empty if the car is too new to have had one."),
        in_date="MOT in date, or not needed yet",
        column="MOT",
    ),
    DueKind(
        name="vehicle_tax",
        words="Vehicle tax",
        of="car",
        to_do="Tax the car with DVLA, then enter the day it is taxed until.",
        source="Vehicle Excise and Registration Act 1994; check with DVLA",
        to_enter="Check with DVLA until when the car is taxed, and enter that day.",
        met_by=MetBy.COVER,
        is_legal=True,
        always_listed=True,
        stops_car=True,
        cost_category="vehicle_tax",
        last_day=Ask("Taxed until", "The last day that is taxed."),
        of_new_car=Ask("Taxed until", "Tax does not come with a car you buy: you pay it yourself."),
        in_date="Vehicle tax in date",
        column="Tax",
    ),
    DueKind(
        name="insurance",
        words="Insurance",
        of="car",
        to_do="Renew the policy, with cover for tuition and tests, then enter the day it runs until.",
        source="Road Traffic Act 1988; check with your insurer",
        to_enter="Check that the policy covers tuition, and enter its last day.",
        met_by=MetBy.COVER,
        confirms_tuition=True,
        is_legal=True,
        always_listed=True,
        stops_car=True,
        cost_category="insurance",
        last_day=Ask("Insured until", "The last day of a policy that covers driving tuition."),
        in_date="Insurance in date",
        column="Insurance",
    ),
    DueKind(
        name="service",
        words="Service",
        of="car",
        to_do="Book the service.",
        source="the handbook's interval; common practice, no source",
        by_miles=True,
        asks_odometer=True,
        cost_category="servicing",
        after_cost="Has the service been done?",
        done_day="Day of the service",
        of_new_car=Ask("Next service due on", "By the handbook or the service book."),
        column="Service",
    ),
    DueKind(
        name="tyres",
        words="Tyres",
        of="car",
        to_do="Have the tyres checked, and replaced if need be.",
        source="common practice, no source",
        by_miles=True,
        cost_category="tyres",
        after_cost="Have the new tyres been fitted?",
        lasts_miles=True,
        column="Tyres",
        by_tread=True,
    ),
    DueKind(
        name="dual_controls",
        words="Dual controls inspection",
        of="car",
        to_do="Have the dual controls inspected.",
        source="yearly: common practice, no source",
        usual_months=12,
        cost_category="servicing",  # upkeep; fit-out is what it cost to put them in
        done_day="Day of the inspection",
        in_date="Yearly inspection of the dual controls in date",
        column="Controls",
    ),
    DueKind(
        name="breakdown_cover",
        words="Breakdown cover",
        of="car",
        to_do="Renew the cover, then enter the day it runs until.",
        source="common practice, no source",
        met_by=MetBy.COVER,
        cost_category="breakdown_cover",
        last_day=Ask("Covered until"),
    ),
    DueKind(
        name="adi_registration",
        words="ADI registration",
        of="member",
        to_do="Start with the criminal-record check: allow about three months. DVSA takes the renewal itself only "
        "in the last month. Without registration no paid lessons may be given.",
        source="Road Traffic Act 1988 s.123 (official); renewal and lead time: DVSA notices, as instructor bodies "
        "repeat them (secondary)",
        to_do_in_ni="Ask DVA when it takes the renewal, and which checks come first. Without registration no paid "
        "lessons may be given.",
        met_by=MetBy.COVER,
        record_check_first=True,
        notice_days=120,
        is_legal=True,
        lets_teach=True,
        held_by=("ADI",),
        last_day=Ask("Registered until", "The last day on the certificate."),
    ),
    DueKind(
        name="pdi_licence",
        words="PDI licence",
        of="member",
        to_do="Ask DVSA about the next step. Without a licence no paid lessons may be given. If you applied for a new "
        "one in time, this one runs on until that is decided: enter the day that DVSA tells you.",
        source="Road Traffic Act 1988 ss.123 and 129 (official); how long it runs: check with DVSA",
        to_do_in_ni="Ask DVA about the next step. Without a licence no paid lessons may be given.",
        met_by=MetBy.COVER,
        usual_months=6,
        is_legal=True,
        lets_teach=True,
        held_by=("PDI",),
        last_day=Ask("Licence runs until", "The last day on the licence."),
        done_day="First day of the new licence",
    ),
    DueKind(
        name="driving_licence",
        words="Driving licence photocard",
        of="member",
        to_do="Renew the photocard with DVLA; its last day is at 4b on the card.",
        source="ten years, three from age 70: DVLA (secondary)",
        to_do_in_ni="Renew the photocard with DVA; its last day is at 4b on the card.",
        met_by=MetBy.COVER,
        is_legal=True,
        held_by=("ADI", "PDI"),
        last_day=Ask("Photocard runs until", "The day at 4b on the card."),
    ),
    DueKind(
        name="other",
        words="Other",
        of="either",
        to_do="See to it, then mark it done in the book.",
        source="the member's own",
        by_miles=True,
        named_by_note=True,
        cost_category="other",
    ),
)

#: By name, in the order in which kinds of equal urgency are listed.
DUE_KINDS: dict[str, DueKind] = {kind.name: kind for kind in _ALL}
#: The kind that the MOT pages deal with.
MOT = next(kind for kind in _ALL if kind.is_mot)


def _gravity(kind: DueKind) -> tuple[bool, bool, bool, int]:
    """Sort key of kinds, gravest first: MOT, insurance, what else stops a car, and all others as they are listed."""
    return not kind.stops_car, not kind.is_mot, not kind.confirms_tuition, _ALL.index(kind)


#: The kinds by what it means when they run out, gravest first: wherever what is worst comes first, it is this order.
BY_GRAVITY: tuple[DueKind, ...] = tuple(sorted(_ALL, key=_gravity))
