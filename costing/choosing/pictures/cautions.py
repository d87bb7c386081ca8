"""What to keep in mind before signing: only what applies to the offers that are compared.

The half rule: Consumer Credit Act 1974 ss.99-100, as secondary texts give it: a regulated agreement may be ended in
writing before its last payment falls due, for half of the total price less what has been paid or fallen due. We count
the deposit, the final payment and the fees in the total price (s.189), without having read it. A business that borrows
more than £25,000 has no such right: Financial Services and Markets Act 2000 (Regulated Activities) Order 2001, art. 60C
(official).
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer
from costing.choosing.core.course import Course, course_of
from costing.choosing.core.credit import why_no_half_rule
from costing.choosing.core.figures import Figures
from costing.choosing.core.payments import could_fall, payments_left
from costing.choosing.pictures import wording


class Cautions(NamedTuple):
    """Sentences, and the sources of those on credit."""

    sentences: list[str]
    sources: list[str]


_HALF_RULE_SOURCES = [
    "Ending an agreement early: Consumer Credit Act 1974, ss. 99–100, as secondary texts give it.",
    "The £25,000: Financial Services and Markets Act 2000 (Regulated Activities) Order 2001, art. 60C, in the official "
    "text.",
]
_SETTLING_SOURCE = "Settling early: Consumer Credit (Early Settlement) Regulations 2004, explanatory note."


def has_half_rule(one: Figures) -> bool:
    """Whether an agreement may be ended for half of its total price in the month in which one leaves."""
    return not why_no_half_rule(one.offer) and any(way.way == "half_rule" for way in one.ways_out)


def cautions(case: Case, months: Sequence[Sequence[Figures]], letters: Mapping[str, str]) -> Cautions:
    """The cautions on the offers of a case; ``months`` has every offer by the month in which one leaves."""
    inside = [one for then in months for one in then]
    halves = {one.offer.name for one in inside if has_half_rule(one)}
    settled = {one.offer.name for one in inside if any(way.way == "settle" for way in one.ways_out)}
    by_contract = {one.offer.name for one in inside if "settlement" in one.assumed}
    said = [
        "The written terms of each agreement come first. These figures are only as good as what was typed in, and they "
        "are not advice: get the terms in writing before you sign."
    ]
    said += _on_the_half_rule(_letters(halves, letters)) if halves else []
    said += _on_settling(_letters(settled - by_contract, letters), _letters(by_contract, letters))
    said += _on_hire(case, letters)
    if case.use.marginal_tax_rate:
        said.append(
            "After tax counts every cost of a dual-control car as relieved in the end: check with an accountant when "
            "each one is."
        )
    sources = [*(_HALF_RULE_SOURCES if halves else []), *([_SETTLING_SOURCE] if settled - by_contract else [])]
    return Cautions(said, sources)


def _letters(names: set[str], letters: Mapping[str, str]) -> str:
    return wording.listed(sorted(letters[name] for name in names)) if names else ""


def _on_the_half_rule(which: str) -> list[str]:
    return [
        f"{which}: you may end it in writing, at any time before the last payment falls due. You then owe half of the "
        "total price, less what you have paid and what has fallen due, and nothing is paid back. You still owe "
        "arrears, and the cost of damage if you haven’t taken reasonable care of the car.",
        "The law gives this right if you borrow at most £25,000, or borrow mainly for other things than your business; "
        "an agreement may give it too. Whether the lender may charge for extra miles as well is disputed. Ask the "
        "lender.",
    ]


def _on_settling(by_rule: str, by_contract: str) -> Iterator[str]:
    if by_rule:
        yield (
            f"{by_rule}: ask the lender for a written settlement figure before you settle early. Ours is worked out "
            "from the payments at the agreement’s own rate; the lender may add up to a month’s interest."
        )
    if by_contract:
        yield f"{by_contract}: what settling early costs is in the contract. Ours is only a guide: ask the lender."


def _on_hire(case: Case, letters: Mapping[str, str]) -> Iterator[str]:
    hires = [offer for offer in case.offers if offer.is_hire]
    if hires:
        which = wording.listed([letters[offer.name] for offer in hires])
        yield f"{which}: the contract says what leaving early costs and whether payments pause while you are ill."
        yield from _past_the_term(case, hires, letters)


def _past_the_term(case: Case, hires: Sequence[Offer], letters: Mapping[str, str]) -> Iterator[str]:
    """What we count where a term ends before the horizon. Offers of which the same is said stand together."""
    said: dict[str, list[str]] = {}
    for offer in hires:
        if words := _after_its_term(offer, course_of(case.use)):
            said.setdefault(words, []).append(letters[offer.name])
    for words, which in said.items():
        yield f"{wording.listed(which)}: {words}"


def _after_its_term(offer: Offer, course: Course) -> str:
    """What follows on a term that ends before one leaves; empty if none does, or it is one payment that just rolls."""
    if offer.payments >= could_fall(offer, course) or not (offer.renews or offer.payments > 1):
        return ""
    by_week = offer.frequency == "week"
    ends = course.months_of_weeks(offer.payments, offer.payments)[0] if by_week else offer.payments
    first, last = f"the term ends in month {ends}.", f"in month {course.months}"
    if not offer.renews:
        return f"{first} We count on its going on at the same payment until you leave {last}: ask whether it does."
    how = "left" if payments_left(offer, course) else "ending"
    if could_fall(offer, course) <= 2 * offer.payments:
        counted = f"a second one on the same terms, {how} {last}"
    else:
        counted = f"one after another on the same terms, the last {how} {last}"
    return f"{first} We count {counted}: ask what you could do instead."
