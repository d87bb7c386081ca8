"""Which category a word in somebody's own list means."""

from costing.core.catalogue.costs import ENTRY_CATEGORIES

#: What people write, by category; besides its own name and words.
_ALSO = {
    "insurance": "insurance premium, car insurance, ins",
    "vehicle_tax": "tax, road tax, car tax, ved",
    "mot": "mot test",
    "servicing": "service, full service, interim service, oil change",
    "repairs": "repair, brakes, garage, bodywork",
    "tyres": "tyre, tires",
    "fit_out": "dual controls, fit out, fit-out, roof sign, l plates",
    "breakdown_cover": "breakdown, recovery",
    "finance": "finance, hp, pcp, loan, instalment",
    "rental": "rental, hire, lease, rent",
    "cleaning": "wash, car wash, valet, valeting",
    "parking_tolls": "parking, tolls, toll",
    "other": "misc, miscellaneous, sundries, others",
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
