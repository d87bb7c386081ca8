"""Addresses of the costs: the home page, logging, entries, agreements and the group; and those of the wings."""

from django.urls import path

from costing.choosing import urls as choosing
from costing.importing import urls as importing
from costing.planning import urls as planning
from costing.statement import urls as statement
from costing.views import (
    agreements,
    car_cost,
    card,
    entries,
    export,
    group,
    home,
    log,
    more,
    offline,
    papers,
    receipts,
    repeats,
    undo,
)

app_name = "costing"

urlpatterns = [
    path("", home.home, name="home"),
    path("fills/new/", log.fill_log, name="fill-log"),
    path("costs/new/", log.cost_log, name="cost-log"),
    path("lessons/new/", log.teaching_log, name="teaching-log"),
    path("log/waiting/", offline.waiting, name="waiting"),
    path("log/kit/", offline.kit, name="kit"),
    path("sw.js", offline.worker, name="worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("entries/", entries.entries, name="entries"),
    path("entries/<str:kind>/<int:pk>/", entries.entry_correct, name="entry-correct"),
    path("entries/<str:kind>/<int:pk>/void/", entries.entry_void, name="entry-void"),
    path("entries/<str:kind>/<int:pk>/receipts/", receipts.receipt_add, name="receipt-add"),
    path("receipts/<uuid:pk>/", receipts.receipt, name="receipt"),
    path("receipts/<uuid:pk>/small/", receipts.receipt_small, name="receipt-small"),
    path("receipts/<uuid:pk>/remove/", receipts.receipt_remove, name="receipt-remove"),
    path("entries/<str:kind>/<int:pk>/undo/", undo.entry_undo, name="entry-undo"),
    path("batches/<uuid:pk>/undo/", undo.batch_undo, name="batch-undo"),
    path("papers/", papers.paper_list, name="paper-list"),
    path("papers/<uuid:pk>/", papers.paper, name="paper"),
    path("papers/<uuid:pk>/file/", papers.paper_file, name="paper-file"),
    path("papers/<uuid:pk>/remove/", papers.paper_remove, name="paper-remove"),
    path("repeats/", repeats.repeat_list, name="repeat-list"),
    path("repeats/new/", repeats.repeat_add, name="repeat-add"),
    path("repeats/<int:pk>/", repeats.repeat, name="repeat"),
    path("repeats/<int:pk>/sum/", repeats.repeat_change, name="repeat-change"),
    path("repeats/<int:pk>/stop/", repeats.repeat_stop, name="repeat-stop"),
    path("group/", group.group, name="group"),
    path("more/", more.more, name="more"),
    path("cars/<str:mark>/cost/", car_cost.car_cost, name="car-cost"),
    path("cars/<str:mark>/log/", card.car_log, name="car-log"),
    path("cars/<str:mark>/card/", card.car_card, name="car-card"),
    path("cars/<str:mark>/card/sheet/", card.car_card_sheet, name="car-card-sheet"),
    path("cars/<str:mark>/agreement/new/", agreements.agreement_add, name="agreement-add"),
    path("cars/<str:mark>/agreement/<int:pk>/", agreements.agreement_correct, name="agreement-correct"),
    path("cars/<str:mark>/agreement/<int:pk>/repeat/", repeats.agreement_repeat, name="agreement-repeat"),
    path("cars/<str:mark>/valuation/new/", agreements.valuation_add, name="valuation-add"),
    path("cars/<str:mark>/valuation/<int:pk>/", agreements.valuation_correct, name="valuation-correct"),
    *choosing.urlpatterns,
    *importing.urlpatterns,
    *statement.urlpatterns,
    *planning.urlpatterns,
    path("export/", export.export, name="export"),
]
