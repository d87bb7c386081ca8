"""One member's money: costs, fills, lessons, how the car is held, and which the next is to be."""

from datetime import timedelta
from types import SimpleNamespace
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from config.pictures import Page
from costing.actions import keep_receipts
from costing.models import ChargePlan, Comparison, CostEntry, Fill, Offer, Paper, PotPlan, Receipt, Takings
from tests.costing.offered import PCP, RUNNING
from tests.factories import (
    AgreementFactory,
    BatchFactory,
    ChargePlanFactory,
    ComparisonFactory,
    CostEntryFactory,
    DismissalFactory,
    FillFactory,
    OdometerReadingFactory,
    OfferFactory,
    PotBillFactory,
    PotPlanFactory,
    RepeatFactory,
    TakingsFactory,
    TeachingRecordFactory,
    ValuationFactory,
)
from tests.matrix.maker import Maker
from tests.matrix.roles import LOG
from tests.papers import receipt_pdf


def add_money(its: SimpleNamespace, maker: Maker) -> None:
    """Add to ``its`` records all that only ``maker.role`` may ever see."""
    _add_costs(its, maker)
    first = maker.odometer("first reading", 0)
    its.reading = OdometerReadingFactory.create(car=maker.car, read_on=maker.first, miles=first)
    its.fill = [_fill(maker, number, days) for number, days in enumerate((64, 44, 24, 4), 1)][-1]
    its.teaching = TeachingRecordFactory.create(
        from_on=maker.before(60),
        to_on=maker.last,
        lesson_count=maker.count("lessons", least=10_001, most=30_001),
        minutes=maker.canaries.minutes(maker.name("minutes"), maker.role),
        private_miles=maker.count("private miles", least=1_101, most=1_899),
        **maker.entry("lessons"),
    )
    _add_holding(its, maker)
    its.comparison, its.offer = _comparison(maker, "next car")
    its.taken_comparison, its.taken = _comparison(maker, "last car")
    if not Offer.objects.filter(car=maker.car).exists():
        its.taken.car, its.taken.chosen_on = maker.car, maker.first
        its.taken.save()
    _add_plans(its, maker)
    its.repeat = RepeatFactory.create(
        amount=maker.sum("what repeats", least=1_000, most=2_000),
        interval="year",
        starts_on=maker.before(5),
        made_until=maker.last,
        supplier=maker.words("what repeats, supplier"),
        note=maker.words("what repeats, note"),
        **maker.entry("what repeats"),
    )
    its.pot_bill = PotBillFactory.create(
        kind="other",
        words=maker.words("bill in the pot"),
        amount=maker.sum("bill in the pot"),
        due_on=maker.last + timedelta(days=60),
        **maker.entry("bill in the pot"),
    )
    if not PotPlan.objects.filter(member=maker.member).exists():
        PotPlanFactory.create(
            member=maker.member, balance=maker.sum("in the pot"), weekly=maker.sum("put by", least=100, most=300)
        )


def _add_plans(its: SimpleNamespace, maker: Maker) -> None:
    """What a member took in the weeks before the last, and what they plan to charge: one plan, whichever car."""
    taken = Takings.objects.filter(member=maker.member)
    for number in (2, 3, 4):
        monday = maker.last - timedelta(days=maker.last.weekday() + 7 * number)
        if not taken.filter(from_on=monday).exists():
            its.takings = TakingsFactory.create(
                member=maker.member,
                ref=maker.ref(f"reference of takings {number}"),
                from_on=monday,
                amount=maker.sum(f"takings {number}"),
                cancelled_minutes=maker.canaries.minutes(maker.name(f"cancelled {number}"), maker.role),
            )
    if not ChargePlan.objects.filter(member=maker.member).exists():
        ChargePlanFactory.create(
            member=maker.member,
            lesson_hour_price=maker.sum("price of a lesson hour"),
            wanted=maker.sum("what is wanted a week"),
            other_costs=maker.sum("other costs"),
        )


def _add_costs(its: SimpleNamespace, maker: Maker) -> None:
    _cost(maker, "fit_out", 50)
    _cost(maker, "insurance", 30, covers_from=maker.before(30), covers_to=maker.last)
    _cost(maker, "breakdown_cover", 60, covers_from=maker.before(60), covers_to=maker.before(21))
    its.hole = f"breakdown_cover:{maker.before(20)}"
    _cost(maker, "vehicle_tax", 59, covers_from=maker.before(59), covers_to=maker.before(20))
    its.dismissal = DismissalFactory.create(
        car=maker.car,
        member=maker.member,
        key=f"vehicle_tax:{maker.before(19)}",
        reason=maker.words("why it was dismissed"),
    )
    _cost(maker, "tyres", 40, covers_miles=maker.count("miles of tyres", least=20_001, most=29_999))
    _cost(maker, "cleaning", 8, voided_at="2026-03-12T09:00Z")
    its.cost = _cost(maker, "repairs", 9)
    # What it was before it was corrected stays in its history.
    its.cost.amount, its.cost.note = maker.sum("repairs, corrected"), maker.words("repairs, note corrected")
    its.cost.save()
    its.cost_ref = its.cost.ref
    its.week = BatchFactory.create(member=maker.member)
    its.cost.batch = its.week
    its.cost.save()
    its.receipt = _receipt(maker, its.cost)
    its.statement = _made_paper(maker)


def _cost(maker: Maker, category: str, days: int, **fields: Any) -> CostEntry:
    return CostEntryFactory.create(
        category=category,
        paid_on=maker.before(days),
        amount=maker.sum(category),
        supplier=maker.words(f"{category}, supplier"),
        note=maker.words(f"{category}, note"),
        **maker.entry(category),
        **fields,
    )


def _receipt(maker: Maker, cost: CostEntry) -> Receipt:
    """A receipt whose pictures are only words, so that they can be found in it again."""
    pages = [Page(maker.words("receipt").encode(), maker.words("receipt, small").encode())]
    keep_receipts(by=maker.member, entry=cost, pages=pages)
    receipt: Receipt = cost.receipts.get()
    maker.canaries.secret(maker.name("id of the receipt"), str(receipt.pk), LOG, maker.role)
    return receipt


def _made_paper(maker: Maker) -> Paper:
    """A paper with words in its file that can be found in it again."""
    days = {"first": maker.before(60), "last": maker.last}
    paper = Paper(member=maker.member, kind="statement", car=maker.car, state="made", made_at=timezone.now(), **days)
    words = b"BT /F1 12 Tf 10 100 Td (%s) Tj ET" % maker.words("made paper").encode()
    font = b"/Font<</F1<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>"
    paper.file.save("", ContentFile(receipt_pdf(draws=words, resources=font)), save=False)
    paper.save()
    maker.canaries.secret(maker.name("id of the paper"), str(paper.pk), LOG, maker.role)
    return paper


def _fill(maker: Maker, number: int, days: int) -> Fill:
    what = f"fill {number}"
    return FillFactory.create(
        filled_on=maker.before(days),
        amount=maker.sum(what),
        quantity=maker.canaries.thousandths(maker.name(f"{what}, litres"), maker.role),
        odometer=maker.odometer(f"{what}, odometer", number),
        **maker.entry(what),
    )


def _add_holding(its: SimpleNamespace, maker: Maker) -> None:
    its.agreement = AgreementFactory.create(
        car=maker.car,
        member=maker.member,
        starts_on=maker.first,
        price=maker.sum("price", least=11_000, most=15_000),
        deposit=maker.sum("deposit", least=1_000, most=2_000),
        payment=maker.sum("payment"),
        final_payment=maker.sum("final payment", least=3_000, most=4_000),
        fees=maker.sum("fees"),
        mileage_allowance=maker.count("mileage allowance", least=12_001, most=19_999),
    )
    for days in (3, 200):
        its.valuation = ValuationFactory.create(
            car=maker.car,
            member=maker.member,
            valued_on=maker.before(days),
            value=maker.sum(f"valuation {days}", least=5_000, most=9_000),
        )


def _comparison(maker: Maker, name: str) -> tuple[Comparison, Offer]:
    keys = ("servicing_per_year", "repairs_per_year", "fit_out")
    running = RUNNING | {key: str(maker.sum(f"{name}, {key}")) for key in keys}
    comparison = ComparisonFactory.create(member=maker.member, name=maker.words(name), running=running)
    hired = PCP | {key: str(maker.sum(f"{name}, {key}")) for key in ("deposit", "payment")}
    owned = {
        "price": str(maker.sum(f"{name}, price", least=10_000, most=12_000)),
        "value_at_horizon": str(maker.sum(f"{name}, value", least=5_000, most=7_000)),
    }
    OfferFactory.create(comparison=comparison, kind="pcp", name=maker.words(f"{name}, pcp"), terms=hired)
    offer = OfferFactory.create(comparison=comparison, kind="owned", name=maker.words(f"{name}, owned"), terms=owned)
    return comparison, offer
