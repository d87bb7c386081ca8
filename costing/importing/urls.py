"""Addresses of the wing: a file, and its rows."""

from django.urls import path

from costing.importing.views import bring

urlpatterns = [
    path("bring/", bring.bring_file, name="bring-file"),
    path("bring/rows/", bring.bring_rows, name="bring-rows"),
]
