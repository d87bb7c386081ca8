"""The coordinators' repair shop: what no page of the book can mend.

No model that holds a member's money is ever registered here: the role gives no right to money.
"""

from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse


class CoordinatorSite(AdminSite):
    site_header = "Tuition Car Book: repairs"
    site_title = "Repairs"
    index_title = "For the coordinator's rare repairs"

    def has_permission(self, request: HttpRequest) -> bool:
        return bool(request.user.is_active and getattr(request.user, "is_coordinator", False))

    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:
        """One way to sign in for the whole book; to a member without the role nothing is here."""
        if request.user.is_authenticated:
            raise Http404
        return redirect_to_login(request.get_full_path())
