"""Addresses of the wing: choosing the next car. The app takes them in among its own, as costing:NAME."""

from django.urls import path

from costing.choosing.views import (
    accept_offer,
    comparison,
    comparisons,
    keep_or_replace,
    offer_check,
    offers,
    rent_or_own,
)

urlpatterns = [
    path("rent-or-own/", rent_or_own.rent_or_own, name="rent-or-own"),
    path("rent-or-own/file/", rent_or_own.rent_or_own_file, name="rent-or-own-file"),
    path("rent-or-own/carry/", rent_or_own.rent_or_own_carry, name="rent-or-own-carry"),
    path("rent-or-own/keep/", rent_or_own.rent_or_own_keep, name="rent-or-own-keep"),
    path("next-car/", comparisons.comparison_list, name="comparison-list"),
    path("next-car/new/", comparisons.comparison_start, name="comparison-start"),
    path("next-car/file/", comparisons.comparison_upload, name="comparison-upload"),
    path("next-car/<int:pk>/", comparison.comparison, name="comparison"),
    path("next-car/<int:pk>/switching/", comparison.comparison_switching, name="comparison-switching"),
    path("next-car/<int:pk>/odds/", comparison.comparison_odds, name="comparison-odds"),
    path("next-car/<int:pk>/ranges/", comparison.comparison_ranges, name="comparison-ranges"),
    path("next-car/<int:pk>/sheet/", comparison.comparison_sheet, name="comparison-sheet"),
    path("next-car/<int:pk>/use/", comparisons.comparison_use, name="comparison-use"),
    path("next-car/<int:pk>/running/", comparisons.comparison_running, name="comparison-running"),
    path("next-car/<int:pk>/remove/", comparisons.comparison_remove, name="comparison-remove"),
    path("next-car/<int:pk>/file/", comparisons.comparison_file, name="comparison-file"),
    path("next-car/<int:pk>/offers/new/", offers.offer_add, name="offer-add"),
    path("next-car/offers/<int:pk>/", offers.offer_terms, name="offer-terms"),
    path("next-car/offers/<int:pk>/remove/", offers.offer_remove, name="offer-remove"),
    path("next-car/<int:pk>/keep/", keep_or_replace.keep_or_replace, name="keep-or-replace"),
    path("next-car/offers/<int:pk>/check/", offer_check.offer_check, name="offer-check"),
    path("next-car/offers/<int:pk>/accept/", accept_offer.offer_accept, name="offer-accept"),
    path(
        "next-car/offers/<int:pk>/expected-and-actual/",
        accept_offer.expected_and_actual,
        name="expected-and-actual",
    ),
]
