"""Addresses of the wing: statements, why a figure moved, and what looks odd."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
