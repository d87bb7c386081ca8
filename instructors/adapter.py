"""How signing in differs from allauth's own defaults."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedBookAdapter(DefaultAccountAdapter):
    """Members come by invitation or with the archive: nobody signs themselves up."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
