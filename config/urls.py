"""The book's addresses: each app brings its own, and none of them knows another's."""

from django.urls import include, path
from django.views.generic import RedirectView

urlpatterns = [
    path("", include("costing.urls")),
    path("", include("fleet.urls")),
    path("", include("instructors.urls")),
    # An e-mail address is the member's name in the book, under which the archive knows them: it stays.
    path("account/email/", RedirectView.as_view(pattern_name="fleet:profile")),
    path("account/", include("allauth.account.urls")),
]
