"""Made-up records with fixed dates, all before 16 March 2026, the day on which the tests take place.

People and firms are invented; the registration marks begin with Q, which the current format never issues.
"""

import hashlib
from copy import deepcopy
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from factory.declarations import LazyAttribute, LazyFunction, SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory
from factory.helpers import post_generation

from costing.models import (
    Agreement,
    Batch,
    ChargePlan,
    Comparison,
    CostEntry,
    Dismissal,
    Entry,
    Fill,
    FillUnit,
    GroupFigure,
    Interval,
    Offer,
    Paper,
    Payee,
    PaymentFrequency,
    PotBill,
    PotPlan,
    Receipt,
    Repeat,
    SettledDue,
    Span,
    Takings,
    TeachingRecord,
    ToldOfContributor,
    Valuation,
)
from fleet.core.defects import Severity
from fleet.models import (
    CalendarFeed,
    Car,
    CheckGroup,
    CheckPoint,
    Completion,
    Confirmation,
    Defect,
    DefectState,
    DefectStep,
    DueItem,
    DutyTurn,
    FuelKind,
    KeeperTime,
    Notice,
    OdometerReading,
    Photo,
    Pulse,
    PulseName,
    ReminderMail,
    ReminderRun,
    TreadReading,
    TyreMove,
    UnknownSpell,
    WalkaroundCheck,
    Wheel,
)
from instructors.models import (
    Act,
    ActKind,
    ActMail,
    BackupDrill,
    BackupRun,
    Cleaning,
    Cooperative,
    FilesPlace,
    Grade,
    Invitation,
    LostFile,
    Member,
    Role,
)

AnyEntry = TypeVar("AnyEntry", bound=Entry)

#: The letters that end a mark; I, O and Q are left out for looking like others.
_LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"


def registration_mark(number: int) -> str:
    """The ``number``-th mark that can never be issued, as stored: QK51AAA, QK51AAB, ...

    Tests that name a mark themselves begin it otherwise (QA51ABC), so that no number of cars made before can meet it.
    """
    letters = ""
    for _ in range(3):
        number, letter = divmod(number, len(_LETTERS))
        letters = _LETTERS[letter] + letters
    return f"QK51{letters}"


def own_copy_of(value: Any) -> LazyFunction:
    """A JSON column's value that each record has for itself: a test that changes its own changes nobody else's."""
    return LazyFunction(lambda: deepcopy(value))


class MemberFactory(DjangoModelFactory[Member]):
    class Meta:
        model = Member

    email = Sequence(lambda n: f"member{n}@book.example")
    name = Sequence(lambda n: f"Member {n}")
    joined_on = date(2023, 4, 6)
    #: Few tests log anything, and most of those that look at mails ask what falls due; those of this word switch it on.
    wants_log_mail = False

    @classmethod
    def _create(cls, model_class: type[Member], *args: Any, **fields: Any) -> Member:
        # The manager lower-cases the address and hashes the password, as for every other member.
        return model_class.objects.create_user(*args, **fields)


class CoordinatorFactory(MemberFactory):
    name = Sequence(lambda n: f"Coordinator {n}")
    role = Role.COORDINATOR


class CooperativeFactory(DjangoModelFactory[Cooperative]):
    class Meta:
        model = Cooperative

    name = "Three Valleys Tuition Co-op"


class InvitationFactory(DjangoModelFactory[Invitation]):
    class Meta:
        model = Invitation

    email = Sequence(lambda n: f"invited{n}@book.example")
    name = Sequence(lambda n: f"Invited {n}")
    invited_by = SubFactory(CoordinatorFactory)
    token_digest = Sequence(lambda n: hashlib.sha256(f"invitation {n}".encode()).hexdigest())
    created_at = datetime(2026, 3, 10, 9, tzinfo=UTC)
    expires_at = datetime(2026, 3, 24, 9, tzinfo=UTC)


class ActMailFactory(DjangoModelFactory[ActMail]):
    """Waiting since it was made."""

    class Meta:
        model = ActMail

    recipient = SubFactory(MemberFactory)
    by = SubFactory(CoordinatorFactory)
    created_at = next_attempt_at = datetime(2026, 3, 10, 9, tzinfo=UTC)


class ActFactory(DjangoModelFactory[Act]):
    """A coordinator's change to somebody's car, of which the mail waits; told with ``told_at=...``."""

    class Meta:
        model = Act

    by = SubFactory(CoordinatorFactory)
    concerns = SubFactory(MemberFactory)
    happened_at = datetime(2026, 3, 10, 9, tzinfo=UTC)
    kind = ActKind.CAR
    subject = "car:1"
    about = "QA51 ABC"
    field = "in_service_to"
    now = "2026-02-28"
    mail = SubFactory(ActMailFactory, recipient=SelfAttribute("..concerns"), by=SelfAttribute("..by"))


class BackupRunFactory(DjangoModelFactory[BackupRun]):
    """A backup that was made; given an ``error``, one that was not."""

    class Meta:
        model = BackupRun

    made_at = datetime(2026, 3, 15, 4, 20, tzinfo=UTC)
    ended_at = datetime(2026, 3, 15, 4, 21, tzinfo=UTC)
    place = "/mnt/backups/book-2026-03-15.backup"
    size = 20_971_520


class BackupDrillFactory(DjangoModelFactory[BackupDrill]):
    """A drill in which all came back; given an ``error``, one in which it did not."""

    class Meta:
        model = BackupDrill

    backup = SubFactory(BackupRunFactory)
    ended_at = datetime(2026, 3, 15, 4, 36, tzinfo=UTC)
    was_opened = True
    made_at = datetime(2026, 3, 15, 4, 20, tzinfo=UTC)
    row_count = 12_345
    file_count = 120


class CarFactory(DjangoModelFactory[Car]):
    """It came into the book after its first MOT day, so that with none recorded the book does not know."""

    class Meta:
        model = Car

    registration = Sequence(registration_mark)
    description = "Blue hatchback"
    keeper = SubFactory(MemberFactory)
    fuel = FuelKind.PETROL
    first_registered = date(2020, 10, 4)
    in_service_from = date(2024, 1, 8)


class KeeperTimeFactory(DjangoModelFactory[KeeperTime]):
    class Meta:
        model = KeeperTime

    car = SubFactory(CarFactory)
    keeper = SelfAttribute("car.keeper")
    from_on = date(2024, 1, 8)


class OdometerReadingFactory(DjangoModelFactory[OdometerReading]):
    class Meta:
        model = OdometerReading

    car = SubFactory(CarFactory)
    read_on = date(2024, 1, 8)
    miles = 21_400


class DueItemFactory(DjangoModelFactory[DueItem]):
    """Of a car; of a person with ``car=None, member=...`` and a kind such as ``adi_registration``.

    An insurance is found to cover tuition by the car's keeper, unless ``is_confirmed=False``.
    """

    class Meta:
        model = DueItem
        skip_postgeneration_save = True

    car = SubFactory(CarFactory)
    kind = "mot"
    due_on = date(2026, 10, 3)

    @post_generation  # type: ignore[untyped-decorator]
    def is_confirmed(self: DueItem, create: bool, answer: bool | None, **_: Any) -> None:
        if create and self.car and self.kind == "insurance" and answer is not False:
            of = {"car": self.car, "point": "tuition_insurance", "confirmed_on": date(2026, 1, 11)}
            Confirmation.objects.get_or_create(**of, defaults={"is_met": True, "grade": self.car.keeper.grade})


def whose(item: DueItem) -> Member | None:
    """The member it concerns: the car's keeper, or the person whose credential it is."""
    return item.car.keeper if item.car else item.member


class CompletionFactory(DjangoModelFactory[Completion]):
    class Meta:
        model = Completion

    due_item = SubFactory(DueItemFactory)
    was_due_on = date(2025, 10, 3)
    done_on = date(2025, 9, 22)
    recorded_by = LazyAttribute(lambda completion: whose(completion.due_item))
    recorded_at = datetime(2025, 9, 22, 17, 30, tzinfo=UTC)


class ReminderMailFactory(DjangoModelFactory[ReminderMail]):
    class Meta:
        model = ReminderMail

    recipient = SubFactory(MemberFactory)
    day = date(2026, 3, 16)
    next_attempt_at = datetime(2026, 3, 16, 7, tzinfo=UTC)


class NoticeFactory(DjangoModelFactory[Notice]):
    """One step told to the keeper; ``mail`` is the keeper's of that day."""

    class Meta:
        model = Notice

    car = SubFactory(CarFactory)
    kind = "mot"
    occurrence = "2026-03-23"
    step = 7
    recipient = SelfAttribute("car.keeper")
    mail = SubFactory(ReminderMailFactory, recipient=SelfAttribute("..recipient"))
    created_at = datetime(2026, 3, 16, 7, tzinfo=UTC)


class UnknownSpellFactory(DjangoModelFactory[UnknownSpell]):
    class Meta:
        model = UnknownSpell

    car = SubFactory(CarFactory)
    kind = "vehicle_tax"
    since = date(2026, 3, 2)


class ReminderRunFactory(DjangoModelFactory[ReminderRun]):
    class Meta:
        model = ReminderRun

    day = date(2026, 3, 16)
    started_at = datetime(2026, 3, 16, 7, tzinfo=UTC)
    finished_at = datetime(2026, 3, 16, 7, 0, 2, tzinfo=UTC)


class CleaningFactory(DjangoModelFactory[Cleaning]):
    class Meta:
        model = Cleaning

    name = "sessions"
    at = datetime(2026, 3, 16, 4, tzinfo=UTC)
    count = 12


class FilesPlaceFactory(DjangoModelFactory[FilesPlace]):
    """The disk."""

    class Meta:
        model = FilesPlace

    noted_at = datetime(2026, 3, 15, 4, tzinfo=UTC)


class LostFileFactory(DjangoModelFactory[LostFile]):
    class Meta:
        model = LostFile

    name = "photos/lost.jpg"
    noted_at = datetime(2026, 3, 15, 4, tzinfo=UTC)


class PulseFactory(DjangoModelFactory[Pulse]):
    """The schedule has been kept for long, and a moment ago."""

    class Meta:
        model = Pulse

    name = PulseName.SCHEDULE
    first_at = since = datetime(2025, 3, 16, 7, tzinfo=UTC)
    at = datetime(2026, 3, 16, 11, 59, 30, tzinfo=UTC)


class DutyTurnFactory(DjangoModelFactory[DutyTurn]):
    class Meta:
        model = DutyTurn

    number = Sequence(lambda n: n + 1)
    is_red = True
    words = "The disk is full."
    turned_at = datetime(2026, 3, 16, 11, tzinfo=UTC)
    next_attempt_at = datetime(2026, 3, 16, 11, tzinfo=UTC)


class CheckPointFactory(DjangoModelFactory[CheckPoint]):
    """A point that the co-op added itself."""

    class Meta:
        model = CheckPoint

    name = Sequence(lambda n: f"own-point-{n}")
    group = CheckGroup.TUITION
    words = "Roof sign"
    look_for = "Fixed, and nothing loose."


class WalkaroundCheckFactory(DjangoModelFactory[WalkaroundCheck]):
    class Meta:
        model = WalkaroundCheck

    ref = Sequence(lambda n: f"check-{n:06}")
    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    checked_on = date(2026, 3, 11)
    points = own_copy_of(["tyre_tread", "lamps"])
    created_at = datetime(2026, 3, 11, 8, tzinfo=UTC)


class PhotoFactory(DjangoModelFactory[Photo]):
    """A row that names a picture; there is no file unless a test keeps one."""

    class Meta:
        model = Photo

    car = SubFactory(CarFactory)
    taken_by = SelfAttribute("car.keeper")
    image = "photos/none.jpg"
    created_at = datetime(2026, 3, 11, 8, tzinfo=UTC)


class DefectFactory(DjangoModelFactory[Defect]):
    """A defect as reported, with its first step; one ``state="closed"`` needs ``closed_on`` too."""

    class Meta:
        model = Defect
        skip_postgeneration_save = True

    ref = Sequence(lambda n: f"defect-{n:06}")
    car = SubFactory(CarFactory)
    severity = Severity.WATCH
    description = "Chip in the windscreen"
    found_on = date(2026, 3, 11)
    reported_by = SelfAttribute("car.keeper")
    created_at = datetime(2026, 3, 11, 8, tzinfo=UTC)

    @post_generation  # type: ignore[untyped-decorator]
    def first_step(self: Defect, create: bool, extracted: Any, **fields: Any) -> None:
        if create:
            DefectStepFactory.create(defect=self, **fields)


class DefectStepFactory(DjangoModelFactory[DefectStep]):
    class Meta:
        model = DefectStep

    defect = SubFactory(DefectFactory)
    state = DefectState.OPEN
    severity = SelfAttribute("defect.severity")
    happened_on = SelfAttribute("defect.found_on")
    by = SelfAttribute("defect.reported_by")
    created_at = datetime(2026, 3, 11, 8, tzinfo=UTC)


class ConfirmationFactory(DjangoModelFactory[Confirmation]):
    class Meta:
        model = Confirmation

    car = SubFactory(CarFactory)
    point = "tuition_insurance"
    confirmed_on = date(2026, 1, 12)
    is_met = True
    grade = LazyAttribute(lambda made: made.car.keeper.grade if made.is_met else "")
    by = SelfAttribute("car.keeper")


class TreadReadingFactory(DjangoModelFactory[TreadReading]):
    class Meta:
        model = TreadReading

    car = SubFactory(CarFactory)
    wheel = Wheel.FRONT_LEFT
    read_on = date(2026, 3, 2)
    inner = Decimal("4.8")
    centre = Decimal("5.1")
    outer = Decimal("5.0")


class TyreMoveFactory(DjangoModelFactory[TyreMove]):
    """A new tyre; from another wheel with ``came_from``."""

    class Meta:
        model = TyreMove

    car = SubFactory(CarFactory)
    moved_on = date(2025, 6, 2)
    wheel = Wheel.FRONT_LEFT


class CalendarFeedFactory(DjangoModelFactory[CalendarFeed]):
    class Meta:
        model = CalendarFeed

    member = SubFactory(MemberFactory)
    token_digest = Sequence(lambda n: hashlib.sha256(f"feed {n}".encode()).hexdigest())
    created_at = datetime(2026, 1, 12, 18, tzinfo=UTC)


class EntryFactory(DjangoModelFactory[AnyEntry]):
    """What the records that a member logs have in common: logged by the car's keeper."""

    class Meta:
        abstract = True

    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    created_at = datetime(2026, 3, 2, 18, tzinfo=UTC)


class CostEntryFactory(EntryFactory[CostEntry]):
    class Meta:
        model = CostEntry

    ref = Sequence(lambda n: f"cost-{n:06}")
    paid_on = date(2026, 3, 2)
    category = "repairs"
    amount = Decimal("86.40")


class RepeatFactory(DjangoModelFactory[Repeat]):
    """Breakdown cover, paid every month from 31 January 2026 on."""

    class Meta:
        model = Repeat

    ref = Sequence(lambda n: f"repeat-{n:06}")
    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    category = "breakdown_cover"
    amount = Decimal("12.40")
    interval = Interval.MONTH
    starts_on = date(2026, 1, 31)


class SettledDueFactory(DjangoModelFactory[SettledDue]):
    """Breakdown cover, logged by hand three days after the payment of 28 February 2026 fell due."""

    class Meta:
        model = SettledDue

    repeat = SubFactory(RepeatFactory, made_until=date(2026, 2, 28))
    member = SelfAttribute("repeat.member")
    cost = SubFactory(
        CostEntryFactory,
        car=SelfAttribute("..repeat.car"),
        category=SelfAttribute("..repeat.category"),
        paid_on=date(2026, 3, 3),
        amount=Decimal("12.90"),
        repeat=SelfAttribute("..repeat"),
    )
    due_on = date(2026, 2, 28)
    amount = Decimal("12.40")


class TakingsFactory(DjangoModelFactory[Takings]):
    """The week before the one in which the tests take place."""

    class Meta:
        model = Takings

    ref = Sequence(lambda n: f"takings-{n:06}")
    member = SubFactory(MemberFactory)
    from_on = date(2026, 3, 9)
    to_on = LazyAttribute(lambda own: own.from_on + timedelta(days=6))
    amount = Decimal("840.00")


class ChargePlanFactory(DjangoModelFactory[ChargePlan]):
    class Meta:
        model = ChargePlan

    member = SubFactory(MemberFactory)
    lesson_hour_price = Decimal("38.00")


class PaperFactory(DjangoModelFactory[Paper]):
    """A statement that waits to be printed."""

    class Meta:
        model = Paper

    member = SubFactory(MemberFactory)
    kind = "statement"
    first = date(2021, 3, 1)
    last = date(2026, 2, 28)


class PotPlanFactory(DjangoModelFactory[PotPlan]):
    """£420 in the pot on the tests' today."""

    class Meta:
        model = PotPlan

    member = SubFactory(MemberFactory)
    balance = Decimal("420.00")
    balance_on = date(2026, 3, 16)


class PotBillFactory(DjangoModelFactory[PotBill]):
    """The second half of the tax bill."""

    class Meta:
        model = PotBill

    ref = Sequence(lambda n: f"bill-{n:06}")
    member = SubFactory(MemberFactory)
    kind = "tax_bill"
    amount = Decimal("612.40")
    due_on = date(2026, 7, 31)


class FillFactory(EntryFactory[Fill]):
    class Meta:
        model = Fill

    ref = Sequence(lambda n: f"fill-{n:06}")
    filled_on = date(2026, 3, 2)
    odometer = 48_200
    quantity = Decimal("34.500")
    unit = FillUnit.LITRE
    amount = Decimal("47.92")


class DismissalFactory(DjangoModelFactory[Dismissal]):
    """A hole in the car's insurance from 10 March 2026 on, dismissed by its keeper."""

    class Meta:
        model = Dismissal

    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    kind = "cover"
    key = "insurance:2026-03-10"
    reason = "The car stood in the garage"


class BatchFactory(DjangoModelFactory[Batch]):
    """A week of lessons; give ``kind`` for an import."""

    class Meta:
        model = Batch

    member = SubFactory(MemberFactory)
    kind = "week"


class PayeeFactory(DjangoModelFactory[Payee]):
    class Meta:
        model = Payee

    member = SubFactory(MemberFactory)
    name = Sequence(lambda n: f"wharf lane motors {n}")
    category = "repairs"


class ReceiptFactory(DjangoModelFactory[Receipt]):
    """A row that names two pictures; there are no files unless a test keeps some (`tests/costing/receipts.py`)."""

    class Meta:
        model = Receipt

    cost = SubFactory(CostEntryFactory)
    member = SelfAttribute("cost.member")
    position = 1
    picture = "receipts/none.jpg"
    thumbnail = "receipts/none-small.jpg"
    size = 60_000
    created_at = datetime(2026, 3, 2, 18, tzinfo=UTC)


class TeachingRecordFactory(EntryFactory[TeachingRecord]):
    class Meta:
        model = TeachingRecord

    ref = Sequence(lambda n: f"teaching-{n:06}")
    from_on = date(2026, 2, 23)
    to_on = date(2026, 3, 1)
    lesson_count = 18
    minutes = 1_560
    private_miles = 40


class AgreementFactory(DjangoModelFactory[Agreement]):
    """Hire purchase over three years; give ``kind`` and its own terms for another."""

    class Meta:
        model = Agreement

    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    starts_on = date(2024, 1, 8)
    kind = "hire_purchase"
    price = Decimal("11800.00")
    deposit = Decimal("1800.00")
    payment = Decimal("318.75")
    payments = 36
    frequency = PaymentFrequency.MONTH


class HireFactory(AgreementFactory):
    """A hire for nothing, as a car is held of whose loss of value a test has nothing to say."""

    kind = "contract_hire"
    price = None  # type: ignore[assignment]
    deposit = Decimal(0)
    payment = Decimal(0)
    payments = 1


class ValuationFactory(DjangoModelFactory[Valuation]):
    class Meta:
        model = Valuation

    car = SubFactory(CarFactory)
    member = SelfAttribute("car.keeper")
    valued_on = date(2026, 1, 8)
    value = Decimal("7900.00")


class GroupFigureFactory(DjangoModelFactory[GroupFigure]):
    class Meta:
        model = GroupFigure

    month = date(2026, 2, 1)
    span = Span.MONTH
    closed_at = datetime(2026, 3, 10, 4, 30, tzinfo=UTC)
    contributor_count = 6
    out_count = 1
    minimum = 5
    rounded_to = 20
    median_cost_per_lesson_hour = Decimal("6.80")
    median_cost_per_mile = Decimal("0.42")


class ToldOfContributorFactory(DjangoModelFactory[ToldOfContributor]):
    class Meta:
        model = ToldOfContributor

    figure = SubFactory(GroupFigureFactory, month=date(2026, 1, 1))
    member = SubFactory(MemberFactory)
    least = 69_000
    most = 71_000


class ComparisonFactory(DjangoModelFactory[Comparison]):
    """A comparison as its pages keep it: decimals and days as text."""

    class Meta:
        model = Comparison

    member = SubFactory(MemberFactory)
    name = "Next car"
    use = own_copy_of(
        {
            "starts_on": "2026-05-01",
            "months": 24,
            "miles_per_year": "24000",
            "private_miles_per_year": "3000",
            "lesson_hours_per_week": "26",
            "weeks_taught_per_year": "46",
            "lesson_hour_price": "38.00",
        }
    )
    running = own_copy_of(
        {"fuel_pence_per_mile": "13.5", "insurance": ["1140.00", "985.00"], "repairs_per_year": "400.00"}
    )
    created_at = datetime(2026, 3, 10, 18, tzinfo=UTC)


class OfferFactory(DjangoModelFactory[Offer]):
    """A complete offer: a car bought outright, unless told otherwise."""

    class Meta:
        model = Offer

    comparison = SubFactory(ComparisonFactory)
    position = LazyAttribute(lambda offer: offer.comparison.offers.count())
    kind = "owned"
    name = Sequence(lambda n: f"Used hatchback {n}")
    terms = own_copy_of({"price": "9500.00", "value_at_horizon": "6200.00"})


def put_in_order(car: Car) -> None:
    """Record whatever is not known of a car's MOT, tax and insurance: far ahead of the tests' today."""
    for kind in {"mot", "vehicle_tax", "insurance"} - {*car.due_items.values_list("kind", flat=True)}:
        DueItemFactory.create(car=car, kind=kind, due_on=date(2036, 3, 16))
    for day, grade in enumerate(Grade, 12):
        ConfirmationFactory.create(car=car, grade=grade, confirmed_on=date(2026, 1, day))
