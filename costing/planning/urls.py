"""Addresses of the wing: takings, what to charge, and the weekly pot."""

from django.urls import path

from costing.planning.views import charging, pot, takings

urlpatterns = [
    path("takings/", takings.takings, name="takings"),
    path("takings/<int:pk>/", takings.takings_correct, name="takings-correct"),
    path("takings/<int:pk>/void/", takings.takings_void, name="takings-void"),
    path("charge/", charging.charge, name="charge"),
    path("pot/", pot.pot, name="pot"),
    path("pot/month/", pot.pot_month, name="pot-month"),
    path("pot/pdf/", pot.pot_pdf, name="pot-pdf"),
    path("pot/plan/", pot.pot_plan, name="pot-plan"),
    path("pot/bills/new/", pot.pot_bill_add, name="pot-bill-add"),
    path("pot/bills/<int:pk>/", pot.pot_bill_correct, name="pot-bill-correct"),
    path("pot/bills/<int:pk>/void/", pot.pot_bill_void, name="pot-bill-void"),
]
