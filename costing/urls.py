"""Addresses of what the cars cost: logging, entries, comparisons, and the page everybody starts on."""

from django.urls import path

from costing.views import car_cost, entries, export, group, holding, home, log

app_name = "costing"

urlpatterns = [
    path("", home.home, name="home"),
    path("fills/new/", log.fill_log, name="fill-log"),
    path("costs/new/", log.cost_log, name="cost-log"),
    path("costs/cover/", log.cost_cover, name="cost-cover"),
    path("lessons/new/", log.teaching_log, name="teaching-log"),
    path("entries/", entries.entries, name="entries"),
    path("entries/<str:kind>/<int:pk>/", entries.entry_correct, name="entry-correct"),
    path("entries/<str:kind>/<int:pk>/void/", entries.entry_void, name="entry-void"),
    path("group/", group.group, name="group"),
    path("cars/<str:mark>/cost/", car_cost.car_cost, name="car-cost"),
    path("cars/<str:mark>/agreement/new/", holding.agreement_add, name="agreement-add"),
    path("cars/<str:mark>/agreement/<int:pk>/", holding.agreement_correct, name="agreement-correct"),
    path("cars/<str:mark>/valuation/new/", holding.valuation_add, name="valuation-add"),
    path("cars/<str:mark>/valuation/<int:pk>/", holding.valuation_correct, name="valuation-correct"),
    path("export/", export.export, name="export"),
]
