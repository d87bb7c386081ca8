"""Which category a word in somebody's own list means."""

from costing.core.catalogue.costs import (
    BREAKDOWN_COVER,
    CLEANING,
    ENTRY_CATEGORIES,
    FINANCE,
    FIT_OUT,
    INSURANCE,
    MOT,
    OTHER,
    PARKING_TOLLS,
    RENTAL,
    REPAIRS,
    SERVICING,
    TYRES,
    VEHICLE_TAX,
)

#: What people write, by category; besides its own name and words.
_ALSO = {
    INSURANCE.name: "insurance premium, car insurance, ins",
    VEHICLE_TAX.name: "tax, road tax, car tax, ved",
    MOT.name: "mot test",
    SERVICING.name: "service, full service, interim service, oil change",
    REPAIRS.name: "repair, brakes, garage, bodywork",
    TYRES.name: "tyre, tires",
    FIT_OUT.name: "dual controls, fit out, fit-out, roof sign, l plates",
    BREAKDOWN_COVER.name: "breakdown, recovery",
    FINANCE.name: "finance, hp, pcp, loan, instalment",
    RENTAL.name: "rental, hire, lease, rent",
    CLEANING.name: "wash, car wash, valet, valeting",
    PARKING_TOLLS.name: "parking, tolls, toll",
    OTHER.name: "misc, miscellaneous, sundries, others",
}
_BY_WORD = {
    word: category.name
    for category in ENTRY_CATEGORIES
    for word in (
        *(category.name, category.words.lower()),
        *(also for also in _ALSO.get(category.name, "").split(", ") if also),
    )
}


def category_of(word: str) -> str:
    """Return the name of the category that a word means; nothing if that is not plain."""
    return _BY_WORD.get(" ".join(word.lower().split()), "")
