"""The keys of an ``[[offer]]``, a row each, in the order in which a quote has them."""

from config import quantities
from costing.choosing.document.combined import ExitRule
from costing.choosing.document.figures import Count, Figure, Money
from costing.choosing.document.keys import RUNNING, Key, Table
from costing.choosing.document.shapes import Day, Flag, Name, OneOf, Parts
from costing.core.catalogue.agreements import AGREEMENT_CHOICES, AGREEMENT_KINDS, ENDS

OFFER = (
    Key(
        name="name",
        shape=Name(),
        words="A name for this offer",
        hint="Such as “small estate on PCP”.",
        required=True,
    ),
    Key(name="kind", shape=OneOf(choices=dict(AGREEMENT_CHOICES)), words="How would you have the car?", required=True),
    Key(
        name="first_registered",
        shape=Day(),
        words="First registered",
        hint="This decides when the first MOT is due. Leave it empty if the car is old enough to need one.",
    ),
    Key(
        name="price",
        shape=Money(),
        words="Cash price",
        hint="What you would pay today without credit.",
        example="11,800",
    ),
    Key(
        name="deposit",
        shape=Money(),
        words="Deposit",
        hint="Paid at the start, with any part exchange.",
        example="1,200",
    ),
    Key(
        name="payment",
        shape=Money(),
        words="Each payment",
        hint="One instalment or rental, with VAT.",
        example="189",
    ),
    Key(
        name="payments",
        shape=Count(quantity=quantities.OFFER_PAYMENTS),
        words="Number of payments",
        hint="Not counting the final payment.",
    ),
    Key(
        name="frequency",
        shape=OneOf(choices={"month": "Every month", "week": "Every week"}),
        words="How often you pay",
    ),
    Key(
        name="final_payment",
        shape=Money(),
        words="Final payment",
        hint="Due with the last payment, an option-to-purchase fee in it.",
        example="5,400",
    ),
    Key(
        name="fees",
        shape=Money(),
        words="Fees",
        hint="Arrangement and similar fees, paid with the first payment.",
        example="150",
    ),
    Key(
        name="quoted_apr",
        shape=Figure(quantity=quantities.APR, unit="%"),
        words="APR quoted",
        hint="We work it out too, from the payments.",
        example="6.8",
    ),
    Key(
        name="value_now",
        shape=Money(),
        words="What the car would fetch the day after",
        hint="Leave it empty to take the price.",
        example="10,900",
    ),
    Key(name="value_at_horizon", shape=Money(), words="What the car should fetch at the end", example="6,900"),
    Key(
        name="at_end",
        shape=OneOf(choices={str(end): words for end, words in ENDS.items()}),
        words="What will you do when it ends?",
        left_open="Whichever is cheaper then, selling it or handing it back",
    ),
    Key(
        name="on_leaving",
        shape=OneOf(
            choices={
                "cheapest": "Whichever is cheaper",
                "settle": "Settle what is still owed, and sell the car",
                "half_rule": "Hand it back once half is paid",
            }
        ),
        words="How would you leave before it ends?",
    ),
    Key(
        name="half_rule",
        shape=Flag(),
        words="May it be handed back once half is paid?",
        hint="Not under a bank loan or a company’s agreement.",
        left_open="Only if at most £25,000 is lent",
    ),
    Key(
        name="mileage_allowance",
        shape=Figure(quantity=quantities.MILES_A_YEAR, unit="miles"),
        words="Miles allowed a year",
        hint="Leave it empty if there is no limit.",
        example="10,000",
    ),
    Key(
        name="excess_pence_per_mile",
        shape=Figure(quantity=quantities.EXCESS_PENCE, unit="p", takes_range=True),
        words="Pence for each extra mile",
        example="9",
    ),
    Key(
        name="damage",
        shape=Money(),
        words="Damage when it goes back",
        hint="What scuffs and chips may cost. Your own guess will do.",
        example="350",
    ),
    Key(name="includes", shape=Parts(), words="Included in the payments"),
    Key(name="running", shape=Table(keys=RUNNING), words="What differs for this car"),
    Key(name="early_exit", shape=ExitRule(), words="What does it cost to leave early?"),
    Key(name="deposit_comes_back", shape=Flag(), words="The deposit is paid back at the end"),
    Key(
        name="then",
        shape=OneOf(
            choices={
                "rolls": "The payments go on, and you may leave at any time",
                "renew": "A new term begins on the same terms",
            }
        ),
        words="What follows the last payment?",
        left_open="I don’t know",
    ),
    Key(name="pauses_when_off", shape=Flag(), words="I don’t pay while I am off sick"),
)


def asked_of(kind: str) -> tuple[Key, ...]:
    """The keys that an offer of this kind may have, in the order of the document."""
    return tuple(key for key in OFFER if not why_refused(kind, key.name))


def why_refused(kind: str, name: str) -> str:
    """Why an offer of this kind has no use for a key; "" if it has."""
    return AGREEMENT_KINDS[kind].refuses.get(name, "")
