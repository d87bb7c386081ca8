"""Addresses of the people, their invitations, their sessions and the co-op's settings."""

from django.urls import path

from instructors.views import cooperative, email_address, erasure, invitations, kept, people, record, sessions

app_name = "instructors"

urlpatterns = [
    path("people/", people.people, name="people"),
    path("people/invite/", invitations.invite, name="invite"),
    path("people/invitations/<int:pk>/send/", invitations.invitation_send, name="invitation-send"),
    path("people/invitations/<int:pk>/withdraw/", invitations.invitation_withdraw, name="invitation-withdraw"),
    path("people/<int:pk>/", people.member_change, name="member-change"),
    path("people/<int:pk>/erase/", erasure.member_erase, name="member-erase"),
    path("me/erase/", erasure.erase_me, name="erase-me"),
    path("invitation/<str:token>/", invitations.accept_invitation, name="accept-invitation"),
    path("me/record/", record.record, name="record"),
    path("account/again/", sessions.sign_in_again, name="sign-in-again"),
    path("account/email/", email_address.email_change, name="email-change"),
    path("account/email/confirm/", email_address.email_confirm, name="email-confirm"),
    path("account/sessions/", sessions.session_list, name="session-list"),
    path("account/sessions/<int:pk>/end/", sessions.session_end, name="session-end"),
    path("account/sessions/end-others/", sessions.session_end_others, name="session-end-others"),
    path("settings/", cooperative.settings, name="settings"),
    path("kept/", kept.kept, name="kept"),
]
