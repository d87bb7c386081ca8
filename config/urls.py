"""The book's addresses: each app brings its own, and none of them knows another's."""

from django.urls import include, path

urlpatterns = [
    path("", include("costing.urls")),
    path("", include("fleet.urls")),
    path("", include("instructors.urls")),
    path("account/", include("instructors.signing_in.urls")),
]
