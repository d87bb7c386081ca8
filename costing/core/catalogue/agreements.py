"""The kinds of agreement under which a member holds a car or is offered one, and the terms of each."""

from collections.abc import Mapping
from enum import Enum
from typing import Literal, NamedTuple

from costing.core.catalogue import costs
from costing.core.catalogue.costs import CostCategory

Frequency = Literal["month", "week"]
AtEnd = Literal["keep", "hand_back", "sell"]
Then = Literal["rolls", "renew"]
StepName = Literal["car", "money", "end", "included"]

#: What may happen to the car when the payments end, with the words that the form explains it in.
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
    """One term of an offer: the step that asks for it, and its words in a list of terms, where {} is the sum."""

    name: str
    step: StepName
    words: str = ""


#: In the order in which they are asked and listed.
OFFER_TERMS = (
    OfferTerm("first_registered", "car"),
    OfferTerm("price", "money", "price {}"),
    OfferTerm("deposit", "money", "{} {deposit}"),
    OfferTerm("payment", "money", "{payments} payments of {} a {frequency}"),
    OfferTerm("payments", "money"),
    OfferTerm("frequency", "money"),
    OfferTerm("final_payment", "money", "{} final payment"),
    OfferTerm("fees", "money", "{} fees"),
    OfferTerm("quoted_apr", "money"),
    OfferTerm("at_end", "end"),
    OfferTerm("value_at_horizon", "end", "should fetch {} at the end"),
    OfferTerm("mileage_allowance", "end"),
    OfferTerm("excess_pence_per_mile", "end"),
    OfferTerm("damage", "end"),
    OfferTerm("early_exit", "end"),
    OfferTerm("pauses_when_off", "end"),
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
EXCESS_MILES = CarSum("excess_miles", "Extra miles", is_of_end=True)
DAMAGE = CarSum("damage", "Damage when it goes back", is_of_end=True)
EARLY_EXIT = CarSum("early_exit", "Leaving the hire early", is_of_end=True)
VALUE_BACK = CarSum("value_back", "What the car fetches", is_of_end=True)

#: By name, in the order in which they are shown.
CAR_SUMS: dict[str, CarSum] = {
    one.name: one
    for one in (
        *(PRICE, DEPOSIT, PAYMENTS, FEES, FINAL_PAYMENT),
        *(SETTLEMENT, EXCESS_MILES, DAMAGE, EARLY_EXIT, VALUE_BACK),
    )
}


class AgreementKind(NamedTuple):
    """One way of getting a car.

    Its cost can't be worked out without the terms it ``needs``; those it ``may_have`` are asked too. ``refuses`` gives
    the terms that make no sense for it, and why. ``ends`` are the ways it may end, and ``instalments`` is the category
    under which its payments are logged.
    """

    name: str
    words: str
    explanation: str
    one: str  # what a sentence calls one of them
    paid_by: PaidBy
    needs: tuple[str, ...]
    may_have: tuple[str, ...]
    refuses: Mapping[str, str]
    ends: tuple[AtEnd, ...]
    instalments: CostCategory | None = None
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
        return self.is_credit and "hand_back" in self.ends

    @property
    def needed_when_recorded(self) -> tuple[str, ...]:
        """The terms without which the true cost of an agreement of this kind isn't known."""
        return (*self.needs, "frequency") if "payment" in self.needs else self.needs

    def asks(self, step: str) -> tuple[str, ...]:
        """The terms that one step of an offer asks for."""
        told = {*self.needs, *self.may_have}
        return tuple(term.name for term in OFFER_TERMS if term.step == step and term.name in told)


_ALWAYS = ("first_registered", "includes")
_CREDIT = ("deposit", "frequency", "final_payment", "fees", "quoted_apr", "value_at_horizon")
_MILES = ("mileage_allowance", "excess_pence_per_mile", "damage")
_HIRE = ("deposit", "frequency", "fees", *_MILES, "early_exit", "pauses_when_off")

_SETTLED = {"early_exit": "you leave it early by settling it"}
_NOT_BOUGHT = dict.fromkeys(("price", "value_at_horizon", "final_payment", "quoted_apr"), "you don’t buy the car")
_NO_AGREEMENT = dict.fromkeys(
    ("deposit", "payment", "payments", "final_payment", "fees", "quoted_apr"), "you pay the price at the start"
)

OWNED = AgreementKind(
    "owned",
    "Owned outright",
    "You pay the whole price at once, and the car is yours.",
    "an owned car",
    PaidBy.PRICE,
    needs=("price",),
    may_have=(*_ALWAYS, "value_at_horizon"),
    refuses=_NO_AGREEMENT | _SETTLED,
    ends=("keep", "sell"),
)
HIRE_PURCHASE = AgreementKind(
    "hire_purchase",
    "Hire purchase",
    "You pay a deposit and instalments, and after the last one the car is yours.",
    "hire purchase",
    PaidBy.CREDIT,
    needs=("price", "payment", "payments"),
    may_have=(*_ALWAYS, *_CREDIT),
    refuses=_SETTLED,
    ends=("keep", "sell"),
    instalments=costs.FINANCE,
)
PCP = AgreementKind(
    "pcp",
    "PCP, personal contract purchase",
    "You pay lower instalments, then choose: make a large final payment, sell the car, or hand it back.",
    "a PCP",
    PaidBy.CREDIT,
    needs=("price", "payment", "payments"),
    may_have=(*_ALWAYS, *_CREDIT, "at_end", *_MILES),
    refuses=_SETTLED,
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
    ends=("hand_back", "sell"),
    instalments=costs.RENTAL,
    deposit_words="initial rental",
)
WEEKLY_RENTAL = CONTRACT_HIRE._replace(
    name="weekly_rental",
    words="Weekly rental",
    explanation="You rent by the week, often with insurance, repairs and tyres in the price.",
    one="weekly rental",
    usual_frequency="week",
)

#: By name, in the order in which a member chooses among them.
AGREEMENT_KINDS: dict[str, AgreementKind] = {
    kind.name: kind for kind in (OWNED, HIRE_PURCHASE, PCP, CONTRACT_HIRE, WEEKLY_RENTAL)
}
#: Their names with their words, as a form or a column offers them.
AGREEMENT_CHOICES = [(kind.name, kind.words) for kind in AGREEMENT_KINDS.values()]
