"""The book's addresses, which each app brings itself."""

from django.urls import include, path

urlpatterns = [
    path("", include("costing.urls")),
    path("", include("fleet.urls")),
    path("", include("instructors.urls")),
    path("account/", include("instructors.signing_in.urls")),
]

handler500 = "config.broken.broken"
