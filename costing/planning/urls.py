"""Addresses of the wing: takings, what to charge, and the weekly pot."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
