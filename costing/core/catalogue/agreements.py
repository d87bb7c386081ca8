"""The kinds of agreement under which a member holds a car or is offered one, and the terms of each."""

from collections.abc import Mapping
from enum import Enum
from typing import Literal, NamedTuple

from costing.core.catalogue import costs
from costing.core.catalogue.costs import CostCategory

Frequency = Literal["month", "week"]
AtEnd = Literal["keep", "hand_back", "sell"]
Then = Literal["rolls", "renew"]
Way = Literal["sell", "settle", "half_rule", "keep", "hand_back", "early_exit"]
#: Where an offer's page asks for a term: among what every quote says, or in one of the folds below it.
Place = Literal["quote", "car", "leaving", "included"]

#: What may happen to a PCP's car when its term ends, with the words that the form explains it in.
ENDS: dict[AtEnd, str] = {
    "sell": "Sell it: you get what it fetches, less the final payment",
    "keep": "Keep it: you make the final payment",
    "hand_back": "Hand it back: you pay only for extra miles and damage",
}


class PaidBy(Enum):
    """How the car is paid for, which decides how its payments and its end are worked out."""

    PRICE = "the whole price, at the start"
    CREDIT = "a deposit and instalments that repay a loan, so that only the interest is a cost of use"
    HIRE = "rentals for using somebody else's car"


class OfferTerm(NamedTuple):
    """One term of an offer: where its page asks for it, and its words in a list of terms, where {} is the sum."""

    name: str
    place: Place
    words: str = ""


#: In the order in which they are asked and listed: that of a quote.
OFFER_TERMS = (
    OfferTerm("price", "quote", "price {}"),
    OfferTerm("deposit", "quote", "{} {deposit}"),
    OfferTerm("payment", "quote", "{payments} payments of {} a {frequency}"),
    OfferTerm("payments", "quote"),
    OfferTerm("frequency", "quote"),
    OfferTerm("final_payment", "quote", "{} final payment"),
    OfferTerm("fees", "quote", "{} fees"),
    OfferTerm("quoted_apr", "quote"),
    OfferTerm("mileage_allowance", "quote"),
    OfferTerm("excess_pence_per_mile", "quote"),
    OfferTerm("damage", "quote"),
    OfferTerm("first_registered", "car"),
    OfferTerm("value_now", "car", "would fetch {} now"),
    OfferTerm("value_at_horizon", "car", "should fetch {} at the end"),
    OfferTerm("at_end", "leaving"),
    OfferTerm("on_leaving", "leaving"),
    OfferTerm("half_rule", "leaving"),
    OfferTerm("early_exit", "leaving"),
    OfferTerm("pauses_when_off", "leaving"),
    OfferTerm("deposit_comes_back", "leaving"),
    OfferTerm("then", "leaving"),
    OfferTerm("includes", "included"),
)


class CarSum(NamedTuple):
    """A sum that an offer charges or pays back for the car itself. One ``is_of_end`` falls due only on leaving it."""

    name: str
    words: str
    is_of_end: bool = False


PRICE = CarSum("price", "Price")
DEPOSIT = CarSum("deposit", "Deposit or initial rental")
PAYMENTS = CarSum("payments", "Payments")
FEES = CarSum("fees", "Fees")
FINAL_PAYMENT = CarSum("final_payment", "Final payment")
SETTLEMENT = CarSum("settlement", "Settling what you still owe", is_of_end=True)
HALF_RULE = CarSum("half_rule", "Handing it back by the half rule", is_of_end=True)
EXCESS_MILES = CarSum("excess_miles", "Extra miles", is_of_end=True)
DAMAGE = CarSum("damage", "Damage when it goes back", is_of_end=True)
EARLY_EXIT = CarSum("early_exit", "Leaving the hire early", is_of_end=True)
VALUE_BACK = CarSum("value_back", "What the car fetches", is_of_end=True)
GIVEN_BACK = CarSum("given_back", "Tax and insurance given back", is_of_end=True)
DEPOSIT_BACK = CarSum("deposit_back", "Deposit paid back", is_of_end=True)

#: By name, in the order in which they are shown.
CAR_SUMS: dict[str, CarSum] = {
    one.name: one
    for one in (
        *(PRICE, DEPOSIT, PAYMENTS, FEES, FINAL_PAYMENT, SETTLEMENT, HALF_RULE),
        *(EXCESS_MILES, DAMAGE, EARLY_EXIT, VALUE_BACK, GIVEN_BACK, DEPOSIT_BACK),
    )
}


class AgreementKind(NamedTuple):
    """One way of getting a car.

    Its cost can't be worked out without the terms it ``needs``; an offer ``needs_too`` what a recorded agreement may
    lack. Those it ``may_have`` are asked too. ``refuses`` gives the terms that make no sense for it, and why. ``ends``
    is what one may choose when its term is over; ``then`` is what a hire does past its term if nobody says otherwise.
    ``instalments`` is the category under which its payments are logged, ``often_includes`` the names of those that its
    price often pays for: common practice, no source.
    """

    name: str
    words: str
    explanation: str
    one: str  # what a sentence calls one of them
    paid_by: PaidBy
    needs: tuple[str, ...]
    may_have: tuple[str, ...]
    refuses: Mapping[str, str]
    needs_too: tuple[str, ...] = ()
    ends: tuple[AtEnd, ...] = ()
    then: Then | None = None
    instalments: CostCategory | None = None
    often_includes: frozenset[str] = frozenset()
    usual_frequency: Frequency = "month"
    deposit_words: str = "deposit"

    @property
    def is_credit(self) -> bool:
        """Whether its instalments repay a loan."""
        return self.paid_by is PaidBy.CREDIT

    @property
    def is_hire(self) -> bool:
        """Whether the car goes on belonging to somebody else."""
        return self.paid_by is PaidBy.HIRE

    @property
    def becomes_own(self) -> bool:
        """Whether the member owns the car, at once or in the end, and so bears its loss of value."""
        return not self.is_hire

    @property
    def has_choice_of_end(self) -> bool:
        """Whether the member may choose at the end to hand the car back."""
        return bool(self.ends)

    @property
    def needed_when_offered(self) -> tuple[str, ...]:
        """The terms without which an offer of this kind can't be worked out."""
        return (*self.needs, *self.needs_too)

    @property
    def needed_when_recorded(self) -> tuple[str, ...]:
        """The terms without which the true cost of an agreement of this kind isn't known."""
        return (*self.needs, "frequency") if "payment" in self.needs else self.needs

    def asks(self, place: str) -> tuple[str, ...]:
        """The terms that one place of an offer's page asks for."""
        told = {*self.needed_when_offered, *self.may_have}
        return tuple(term.name for term in OFFER_TERMS if term.place == place and term.name in told)


_ALWAYS = ("first_registered", "includes")
_VALUE = ("value_now", "value_at_horizon")
_GOING_BACK = ("mileage_allowance", "excess_pence_per_mile", "damage")
_LEFT_EARLY = ("on_leaving", "half_rule")
_CREDIT = ("deposit", "frequency", "fees", "quoted_apr", *_VALUE, *_LEFT_EARLY, *_GOING_BACK)
_HIRED = ("early_exit", "deposit_comes_back", "then", "pauses_when_off")
_HIRE = ("deposit", "frequency", "fees", *_GOING_BACK, *_HIRED)

_NOT_HIRED = dict.fromkeys(_HIRED, "you don’t hire the car")
_NO_CHOICE = {"at_end": "only the end of a PCP leaves you a choice"}
_NOT_BOUGHT = _NO_CHOICE | dict.fromkeys(
    ("price", "final_payment", "quoted_apr", *_VALUE, *_LEFT_EARLY), "you don’t buy the car"
)
_NO_AGREEMENT = (
    dict.fromkeys(
        ("deposit", "payment", "payments", "frequency", "final_payment", "fees", "quoted_apr"),
        "you pay the price at the start",
    )
    | dict.fromkeys(_LEFT_EARLY, "there is no agreement to leave")
    | dict.fromkeys(_GOING_BACK, "the car is yours, so it never goes back")
)

_INCLUDED = frozenset(
    one.name for one in (costs.VEHICLE_TAX, costs.SERVICING, costs.REPAIRS, costs.TYRES, costs.BREAKDOWN_COVER)
)

OWNED = AgreementKind(
    "owned",
    "Owned outright",
    "You pay the whole price at once, and the car is yours.",
    "an owned car",
    PaidBy.PRICE,
    needs=("price",),
    may_have=(*_ALWAYS, *_VALUE),
    refuses=_NO_AGREEMENT | _NO_CHOICE | _NOT_HIRED,
)
HIRE_PURCHASE = AgreementKind(
    "hire_purchase",
    "Hire purchase",
    "You pay a deposit and instalments, and after the last one the car is yours.",
    "hire purchase",
    PaidBy.CREDIT,
    needs=("price", "payment", "payments"),
    may_have=(*_ALWAYS, *_CREDIT, "final_payment"),
    refuses=_NO_CHOICE | _NOT_HIRED,
    instalments=costs.FINANCE,
)
PCP = AgreementKind(
    "pcp",
    "PCP, personal contract purchase",
    "You pay lower instalments, then choose: make a large final payment, sell the car, or hand it back.",
    "a PCP",
    PaidBy.CREDIT,
    needs=("price", "payment", "payments"),
    needs_too=("final_payment",),
    may_have=(*_ALWAYS, *_CREDIT, "at_end"),
    refuses=_NOT_HIRED,
    ends=("keep", "hand_back", "sell"),
    instalments=costs.FINANCE,
)
CONTRACT_HIRE = AgreementKind(
    "contract_hire",
    "Contract hire",
    "You rent one car for a fixed time and mileage, and it never becomes yours.",
    "contract hire",
    PaidBy.HIRE,
    needs=("payment", "payments"),
    may_have=(*_ALWAYS, *_HIRE),
    refuses=_NOT_BOUGHT,
    then="renew",
    instalments=costs.RENTAL,
    often_includes=_INCLUDED,
    deposit_words="initial rental",
)
WEEKLY_RENTAL = CONTRACT_HIRE._replace(
    name="weekly_rental",
    words="Weekly rental",
    explanation="You rent by the week, often with insurance, repairs and tyres in the price.",
    one="weekly rental",
    then="rolls",
    often_includes=_INCLUDED | {costs.INSURANCE.name},
    usual_frequency="week",
    deposit_words="deposit",
)

#: By name, in the order in which a member chooses among them.
AGREEMENT_KINDS: dict[str, AgreementKind] = {
    kind.name: kind for kind in (OWNED, HIRE_PURCHASE, PCP, CONTRACT_HIRE, WEEKLY_RENTAL)
}
#: Their names with their words, as a form or a column offers them.
AGREEMENT_CHOICES = [(kind.name, kind.words) for kind in AGREEMENT_KINDS.values()]
