"""The addresses of signing in: of allauth's pages those that the book uses, each named here, and no other.

allauth looks its own pages up by these names, so they are in no app's namespace.
"""

from allauth.account import views as account
from allauth.account.decorators import reauthentication_required
from django.urls import path, re_path

urlpatterns = [
    path("login/", account.login, name="account_login"),
    path("login/code/", account.request_login_code, name="account_request_login_code"),
    path("login/code/confirm/", account.confirm_login_code, name="account_confirm_login_code"),
    path("logout/", account.logout, name="account_logout"),
    path("inactive/", account.account_inactive, name="account_inactive"),
    # Says that members come by invitation, whatever is sent to it.
    path("signup/", account.signup, name="account_signup"),
    path("reauthenticate/", account.reauthenticate, name="account_reauthenticate"),
    path("password/change/", account.password_change, name="account_change_password"),
    path(
        "password/set/",
        reauthentication_required(account.password_set, app="instructors"),
        name="account_set_password",
    ),
    path("password/reset/", account.password_reset, name="account_reset_password"),
    path("password/reset/done/", account.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        account.password_reset_from_key,
        name="account_reset_password_from_key",
    ),
    path(
        "password/reset/key/done/",
        account.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
]
