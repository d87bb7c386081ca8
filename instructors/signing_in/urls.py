"""The addresses of signing in: only those of allauth's pages that the book uses.

allauth looks its pages up by these names, so they are in no namespace.
"""

from allauth.account import views as account
from allauth.account.decorators import reauthentication_required
from allauth.mfa.base import views as factors
from allauth.mfa.recovery_codes import views as recovery_codes
from allauth.mfa.totp import views as totp
from allauth.mfa.webauthn import views as passkeys
from django.urls import path, re_path

from config.compression import holds_a_secret
from config.http import read_or_write
from instructors.queries import cooperative
from instructors.signing_in.factors import download_recovery_codes, view_recovery_codes

urlpatterns = [
    # A function in its context is called by the template: the page leads on to what the co-op has switched on.
    path("login/", account.LoginView.as_view(extra_context={"cooperative": cooperative}), name="account_login"),
    path("login/code/", account.request_login_code, name="account_request_login_code"),
    path("login/code/confirm/", account.confirm_login_code, name="account_confirm_login_code"),
    path("logout/", account.logout, name="account_logout"),
    path("inactive/", account.account_inactive, name="account_inactive"),
    # Always answers that members join by invitation.
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
        holds_a_secret(account.password_reset_from_key),
        name="account_reset_password_from_key",
    ),
    path(
        "password/reset/key/done/",
        account.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
    path("factors/", factors.index, name="mfa_index"),
    path("factors/show/", factors.authenticate, name="mfa_authenticate"),
    path("factors/show-again/", factors.reauthenticate, name="mfa_reauthenticate"),
    path("factors/app/", holds_a_secret(totp.activate_totp), name="mfa_activate_totp"),
    path("factors/app/remove/", totp.deactivate_totp, name="mfa_deactivate_totp"),
    path("factors/passkeys/", passkeys.list_webauthn, name="mfa_list_webauthn"),
    path("factors/passkeys/add/", passkeys.add_webauthn, name="mfa_add_webauthn"),
    path("factors/passkeys/sign-in/", passkeys.login_webauthn, name="mfa_login_webauthn"),
    path("factors/passkeys/show-again/", passkeys.reauthenticate_webauthn, name="mfa_reauthenticate_webauthn"),
    path("factors/passkeys/<int:pk>/", passkeys.edit_webauthn, name="mfa_edit_webauthn"),
    # allauth's view also takes DELETE, but then mails nobody.
    path("factors/passkeys/<int:pk>/remove/", read_or_write(passkeys.remove_webauthn), name="mfa_remove_webauthn"),
    path("factors/recovery-codes/", view_recovery_codes, name="mfa_view_recovery_codes"),
    path("factors/recovery-codes/new/", recovery_codes.generate_recovery_codes, name="mfa_generate_recovery_codes"),
    path("factors/recovery-codes/file/", download_recovery_codes, name="mfa_download_recovery_codes"),
]
