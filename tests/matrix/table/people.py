"""The addresses of the people, and of signing in."""

from django.utils.http import int_to_base36

from tests.matrix.asking import SIGN_IN
from tests.matrix.rows import Row, anybody, coordinators, id_of, members
from tests.matrix.world import NO_TOKEN, PASSWORD

#: Views of Django's and allauth's classes answer OPTIONS, and take a PUT for a POST.
OF_A_CLASS = {"OPTIONS": 200, "PUT": 200}
#: Any other method than reading and sending.
NOT_BUT_READ = dict.fromkeys(("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"), 405)
LEADS_ON = {"*": 302, "TRACE": 405}
INSTRUCTORS = [
    Row("instructors:people", coordinators, asks_who_first=True),
    Row(
        "instructors:invite",
        coordinators,
        post=200,
        done=302,
        typed={"email": "new@book.example", "name": "New"},
        asks_who_first=True,
    ),
    Row(
        "instructors:invitation-send",
        coordinators,
        id_of("invitation"),
        get=405,
        post=302,
        done=302,
        asks_who_first=True,
    ),
    Row(
        "instructors:invitation-withdraw",
        coordinators,
        id_of("invitation"),
        get=405,
        post=302,
        done=302,
        asks_who_first=True,
    ),
    Row("instructors:member-change", coordinators, id_of("member"), post=200, done=302, asks_who_first=True),
    Row("instructors:member-leave", coordinators, id_of("member"), post=200, done=302, asks_who_first=True),
    # Whoever holds the link reads for whom it is.
    Row(
        "instructors:accept-invitation",
        anybody,
        lambda its: (its.invitation_token,),
        post=200,
        done=302,
        typed={"password": PASSWORD},
        tells=["open invitation", "name of coordinator"],
    ),
    Row("instructors:settings", coordinators, post=200, done=302, asks_who_first=True),
]

#: Of allauth, as far as it is included.
ACCOUNTS = [
    Row("account_login", anybody, post=200, other=OF_A_CLASS, signed_in={"*": 302}),
    Row("account_logout", members, post=SIGN_IN, other={"OPTIONS": 200}, signed_out=NOT_BUT_READ | {"OPTIONS": 200}),
    Row("account_inactive", anybody, other={"OPTIONS": 200}),
    # Nobody signs themselves up: however it is asked, it says so.
    Row("account_signup", anybody, signed_in={"*": 302}, signed_out={"*": 200}),
    Row("account_reauthenticate", members, post=200, other=OF_A_CLASS),
    # The book's own stands before allauth's, at the same address: it leads to one's own page.
    Row("account/email/", members, signed_in=LEADS_ON),
    Row("account_email", members, signed_in=LEADS_ON),
    Row("account_email_verification_sent", anybody, other={"OPTIONS": 200}),
    Row("account_confirm_email", anybody, lambda its: (NO_TOKEN,), post=404, other={"OPTIONS": 200}),
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
