"""Addresses of the wing: takings, what to charge, and the weekly pot."""

from django.urls import URLPattern, path

from costing.planning.views import charging, takings

urlpatterns: list[URLPattern] = [
    path("takings/", takings.takings, name="takings"),
    path("takings/<int:pk>/", takings.takings_correct, name="takings-correct"),
    path("takings/<int:pk>/void/", takings.takings_void, name="takings-void"),
    path("charge/", charging.charge, name="charge"),
]
