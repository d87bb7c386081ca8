"""Addresses of the costs: the home page, logging, entries, agreements, the group and comparisons."""

from django.urls import path

from costing.views import (
    accept_offer,
    agreements,
    car_cost,
    comparison,
    comparisons,
    entries,
    export,
    group,
    home,
    keep_or_replace,
    log,
    more,
    offers,
)

app_name = "costing"

urlpatterns = [
    path("", home.home, name="home"),
    path("fills/new/", log.fill_log, name="fill-log"),
    path("costs/new/", log.cost_log, name="cost-log"),
    path("costs/cover/", log.cost_cover, name="cost-cover"),
    path("lessons/new/", log.teaching_log, name="teaching-log"),
    path("lessons/none/", log.teaching_none, name="teaching-none"),
    path("lesson-hour/", log.cost_card, name="cost-card"),
    path("entries/", entries.entries, name="entries"),
    path("entries/<str:kind>/<int:pk>/", entries.entry_correct, name="entry-correct"),
    path("entries/<str:kind>/<int:pk>/void/", entries.entry_void, name="entry-void"),
    path("group/", group.group, name="group"),
    path("more/", more.more, name="more"),
    path("cars/<str:mark>/cost/", car_cost.car_cost, name="car-cost"),
    path("cars/<str:mark>/agreement/new/", agreements.agreement_add, name="agreement-add"),
    path("cars/<str:mark>/agreement/<int:pk>/", agreements.agreement_correct, name="agreement-correct"),
    path("cars/<str:mark>/valuation/new/", agreements.valuation_add, name="valuation-add"),
    path("cars/<str:mark>/valuation/<int:pk>/", agreements.valuation_correct, name="valuation-correct"),
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
    path("next-car/offers/<int:pk>/remove/", offers.offer_remove, name="offer-remove"),
    path("next-car/<int:pk>/keep/", keep_or_replace.keep_or_replace, name="keep-or-replace"),
    path("next-car/offers/<int:pk>/accept/", accept_offer.offer_accept, name="offer-accept"),
    path(
        "next-car/offers/<int:pk>/expected-and-actual/",
        accept_offer.expected_and_actual,
        name="expected-and-actual",
    ),
    path("next-car/offers/<int:pk>/<slug:step>/", offers.offer_terms, name="offer-terms"),
    path("export/", export.export, name="export"),
]
