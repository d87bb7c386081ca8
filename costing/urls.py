"""Addresses of the costs: the home page, logging, entries, agreements and the group; and those of the wing."""

from django.urls import path

from costing.choosing import urls as choosing
from costing.importing import urls as importing
from costing.views import agreements, car_cost, entries, export, group, home, log, more, offline, undo

app_name = "costing"

urlpatterns = [
    path("", home.home, name="home"),
    path("fills/new/", log.fill_log, name="fill-log"),
    path("costs/new/", log.cost_log, name="cost-log"),
    path("lessons/new/", log.teaching_log, name="teaching-log"),
    path("lesson-hour/", log.cost_card, name="cost-card"),
    path("log/waiting/", offline.waiting, name="waiting"),
    path("log/kit/", offline.kit, name="kit"),
    path("sw.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("entries/", entries.entries, name="entries"),
    path("entries/<str:kind>/<int:pk>/", entries.entry_correct, name="entry-correct"),
    path("entries/<str:kind>/<int:pk>/void/", entries.entry_void, name="entry-void"),
    path("entries/<str:kind>/<int:pk>/undo/", undo.entry_undo, name="entry-undo"),
    path("batches/<uuid:pk>/undo/", undo.batch_undo, name="batch-undo"),
    path("group/", group.group, name="group"),
    path("more/", more.more, name="more"),
    path("cars/<str:mark>/cost/", car_cost.car_cost, name="car-cost"),
    path("cars/<str:mark>/agreement/new/", agreements.agreement_add, name="agreement-add"),
    path("cars/<str:mark>/agreement/<int:pk>/", agreements.agreement_correct, name="agreement-correct"),
    path("cars/<str:mark>/valuation/new/", agreements.valuation_add, name="valuation-add"),
    path("cars/<str:mark>/valuation/<int:pk>/", agreements.valuation_correct, name="valuation-correct"),
    *choosing.urlpatterns,
    *importing.urlpatterns,
    path("export/", export.export, name="export"),
]
