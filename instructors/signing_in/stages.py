"""The steps of a sign-in that wait for a code or a second factor.

To allauth a waiting step is the only page left: whoever then opens the sign-in page, or any that asks to sign in, is
sent back to it. Here it waits until it is used or too old, and every other page opens meanwhile.
"""

from allauth.account.stages import LoginByCodeStage
from allauth.mfa.stages import AuthenticateStage
from django.http import HttpRequest


class CodeStage(LoginByCodeStage):
    """Typing in an e-mailed code."""

    def is_resumable(self, request: HttpRequest) -> bool:
        return False


class FactorStage(AuthenticateStage):
    """Showing the second factor."""

    def is_resumable(self, request: HttpRequest) -> bool:
        return False
