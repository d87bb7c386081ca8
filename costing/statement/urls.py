"""Addresses of the wing: statements, why a figure moved, and what looks odd."""

from django.urls import URLPattern, path

from costing.statement.views import behind, odd, papers, statement

urlpatterns: list[URLPattern] = [
    path("entries/behind/", behind.behind_figure, name="behind-figure"),
    path("statement/", statement.statement, name="statement"),
    path("statement/csv/", statement.statement_csv, name="statement-csv"),
    path("statement/pdf/", papers.statement_pdf, name="statement-pdf"),
    path("statement/year/pdf/", papers.year_pdf, name="year-pdf"),
    path("odd/", odd.odd_list, name="odd-list"),
    path("odd/dismiss/<str:mark>/<str:kind>/<str:rests_on>/", odd.odd_dismiss, name="odd-dismiss"),
    path("odd/dismissed/<int:pk>/again/", odd.odd_again, name="odd-again"),
]
