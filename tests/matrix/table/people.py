"""The addresses of the people, and of signing in."""

from django.utils.http import int_to_base36

from tests.matrix.asking import SIGN_IN
from tests.matrix.roles import MEMBERS, WITH_APP, WITH_PASSKEY
from tests.matrix.rows import (
    Row,
    anybody,
    coordinators,
    id_of,
    members,
    owner,
    with_app,
    with_passkey,
)
from tests.matrix.world import NO_TOKEN, PASSWORD

#: Views of Django's and allauth's classes answer OPTIONS, and take a PUT for a POST.
OF_A_CLASS: dict[str, int | str] = {"OPTIONS": 200, "PUT": 200}
#: Any other method than reading and sending.
NOT_BUT_READ = dict.fromkeys(("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"), 405)
LEADS_ON: dict[str, int | str] = {"*": 302}
#: Whoever has nothing but the password is led to the page that asks for that.
WITHOUT_FACTOR = dict.fromkeys(MEMBERS - WITH_PASSKEY, LEADS_ON)
INSTRUCTORS = [
    Row("instructors:people", coordinators, asks_who_first=True),
    Row(
        "instructors:invite",
        coordinators,
        post=200,
        done=303,
        typed={"email": "new@book.example", "name": "New"},
        asks_who_first=True,
    ),
    Row(
        "instructors:invitation-send",
        coordinators,
        id_of("invitation"),
        get=405,
        post=303,
        done=303,
        asks_who_first=True,
    ),
    Row(
        "instructors:invitation-withdraw",
        coordinators,
        id_of("invitation"),
        get=405,
        post=303,
        done=303,
        asks_who_first=True,
    ),
    Row(
        "instructors:member-change",
        coordinators,
        id_of("member"),
        post=200,
        done=303,
        typed={"name": "Renamed"},
        asks_who_first=True,
    ),
    # Whoever holds the link reads for whom it is.
    Row(
        "instructors:accept-invitation",
        anybody,
        lambda its: (its.invitation_token,),
        post=200,
        done=303,
        typed={"password": PASSWORD},
        tells=["open invitation", "name of coordinator"],
    ),
    Row("instructors:record", members, queries=["kind=car", "kind=sign_in&page=2"]),
    Row("instructors:sign-in-again", members, queries=["next=/me/", "next=https://elsewhere.example/"]),
    # What waits for a code is kept in the session.
    Row(
        "instructors:email-change",
        members,
        post=200,
        done=303,
        typed={"email": "new@book.example"},
        writes=False,
    ),
    # Without an address that waits for its code it leads to where one is asked for.
    Row("instructors:email-confirm", members, get=302, post=302),
    Row("instructors:session-list", members),
    Row("instructors:session-end", owner, id_of("session"), get=405, post=303, done=303),
    Row("instructors:session-end-others", members, get=405, post=303, done=303),
    Row("instructors:settings", coordinators, post=200, done=303, asks_who_first=True),
    Row("instructors:kept", members),
    Row("instructors:erase-me", members, post=200),
    # Whoever has not left is not erased, whatever is typed.
    Row("instructors:member-erase", coordinators, id_of("member"), post=200, asks_who_first=True),
]

#: Of allauth, as far as it is included.
ACCOUNTS = [
    Row("account_login", anybody, post=200, other=OF_A_CLASS, signed_in={"*": 302}),
    Row("account_logout", members, post=SIGN_IN, other={"OPTIONS": 200}, signed_out=NOT_BUT_READ | {"OPTIONS": 200}),
    Row("account_inactive", anybody, other={"OPTIONS": 200}),
    # Nobody signs themselves up: however it is asked, it says so.
    Row("account_signup", anybody, signed_in={"*": 302}, signed_out={"*": 200}),
    Row("account_reauthenticate", members, post=200, other=OF_A_CLASS),
    Row("account_change_password", members, post=200, other=OF_A_CLASS),
    # Whoever has a password is sent to where it is changed.
    Row("account_set_password", members, signed_in={"*": 302}),
    Row("account_reset_password", anybody, post=200, other=OF_A_CLASS),
    Row("account_reset_password_done", anybody, other={"OPTIONS": 200}),
    # A key that is wrong says so, whosever it is said to be, however it is asked.
    Row(
        "account_reset_password_from_key",
        anybody,
        lambda its: (int_to_base36(its.member.pk), NO_TOKEN),
        signed_in={"*": 200},
        signed_out={"*": 200},
        is_blind=True,
    ),
    Row("account_reset_password_from_key_done", anybody, other={"OPTIONS": 200}),
    Row("account_request_login_code", anybody, post=200, other=OF_A_CLASS, signed_in={"*": 302}),
    # Without a code that was asked for it leads to where one is.
    Row("account_confirm_login_code", anybody, signed_in={"*": 302}, signed_out={"*": 302}),
]

#: What is signed in with besides the password, of allauth too; each sees and changes their own.
FACTORS = [
    Row("mfa_index", members, other={"OPTIONS": 200}),
    # Only in the middle of a sign-in.
    Row("mfa_authenticate", anybody, signed_in=LEADS_ON, signed_out={"*": SIGN_IN}),
    Row("mfa_reauthenticate", members, post=200, other=OF_A_CLASS, by_role=WITHOUT_FACTOR),
    # Whoever has one is sent to where it is taken off.
    Row("mfa_activate_totp", members, post=200, other=OF_A_CLASS, by_role=dict.fromkeys(WITH_APP, LEADS_ON)),
    Row(
        "mfa_deactivate_totp",
        with_app,
        post=302,
        done=302,
        other={"PUT": 302, "OPTIONS": 200},
        asks_who_first=True,
    ),
    Row("mfa_list_webauthn", members, other={"OPTIONS": 200}),
    Row("mfa_add_webauthn", members, post=200, other=OF_A_CLASS),
    Row(
        "mfa_edit_webauthn",
        owner,
        id_of("passkey"),
        post=200,
        done=302,
        typed={"name": "Phone"},
        other=OF_A_CLASS,
        signed_in={"OPTIONS": 200},
    ),
    Row("mfa_remove_webauthn", owner, id_of("passkey"), post=302, done=302),
    # What the script of the sign-in page asks for; a browser without it is led back there.
    Row(
        "mfa_login_webauthn",
        anybody,
        get=SIGN_IN,
        post=SIGN_IN,
        other={"PUT": SIGN_IN, "OPTIONS": 200},
        signed_in=LEADS_ON,
    ),
    Row(
        "mfa_reauthenticate_webauthn",
        members,
        post=SIGN_IN,
        other={"PUT": SIGN_IN, "OPTIONS": 200},
        by_role=WITHOUT_FACTOR,
    ),
    Row("mfa_view_recovery_codes", with_passkey),
    Row(
        "mfa_generate_recovery_codes",
        members,
        post=302,
        done=302,
        other={"PUT": 302, "OPTIONS": 200},
        by_role={role: {"POST": 200, "PUT": 200} for role in WITHOUT_FACTOR},
    ),
    Row("mfa_download_recovery_codes", with_passkey),
]
