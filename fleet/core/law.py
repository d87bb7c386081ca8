"""What the law leaves of a car that is off the road for lessons, by reason.

"Off the road" here means: no lesson in it. It is not a declaration to DVLA (SORN). Sources are named as in
``fleet.core.defects``; none of it replaces asking DVLA, the insurer or the test station.
"""

from collections.abc import Iterable

from fleet.core.defects import LegalRule, Severity
from fleet.core.due_kinds import BY_GRAVITY
from fleet.core.readiness import NO_TUITION_COVER, TREAD, OffRoadReason

#: The kinds that stop a car, gravest first.
_MOT, _INSURANCE, _TAX = (kind.name for kind in BY_GRAVITY if kind.stops_car)
_LEAVES: dict[str, LegalRule] = {
    Severity.DANGEROUS: LegalRule(
        "Do not drive it at all, not even to a garage. What is dangerous must be repaired first.",
        "Road Traffic Act 1988 s.40A (official); GOV.UK, Getting an MOT: results (secondary)",
    ),
    TREAD: LegalRule(
        "A tyre worn below the limit is unlawful: have it changed before the car is driven.",
        "Road Vehicles (Construction and Use) Regulations 1986 reg. 27 (secondary)",
    ),
    _MOT: LegalRule(
        "Without an MOT it may be driven only to a booked test, or to and from repair, never with a dangerous item.",
        "GOV.UK, Getting an MOT (secondary)",
    ),
    _INSURANCE: LegalRule(
        "Without insurance it must not be driven; kept without any, it must be declared off the road with DVLA (SORN).",
        "Road Traffic Act 1988 ss.143 and 144A; check with DVLA",
    ),
    _TAX: LegalRule(
        "Without tax it must not be used or kept on a public road.",
        "Vehicle Excise and Registration Act 1994; check with DVLA",
    ),
    NO_TUITION_COVER: LegalRule(
        "A lesson in it is not insured; ask your insurer what else the policy covers.",
        "what the policy leaves out is not insured: check with your insurer",
    ),
    Severity.BEFORE_NEXT_LESSON: LegalRule(
        "For any drive it must be roadworthy.", "Road Traffic Act 1988 s.40A (official)"
    ),
}


def left_by_law(reasons: Iterable[OffRoadReason]) -> list[LegalRule]:
    """What the law leaves of a car that is off the road for these reasons, in their order.

    A car with something dangerous may not even be driven to a test or a garage, so nothing milder is said of it.
    """
    names = dict.fromkeys(reason.name for reason in reasons)
    if Severity.DANGEROUS in names:
        names = {name: None for name in names if name in (Severity.DANGEROUS, _INSURANCE, _TAX)}
    return [_LEAVES[name] for name in names]
