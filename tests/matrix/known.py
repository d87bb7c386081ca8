"""Where looking writes, by address: once it no longer does, its line has to go from here, as its test says."""

#: Into which table, and no other, and why that is meant so.
WRITES_WHEN_LOOKED_AT = {
    "costing:export": ("instructors_act", "a member reads in their record when their own was downloaded"),
    "fleet:calendar-feed": ("instructors_act", "and on which days a calendar was read by whoever has its address"),
    "mfa_view_recovery_codes": ("mfa_authenticator", "allauth notes when recovery codes were first shown"),
    "mfa_download_recovery_codes": ("mfa_authenticator", "and when they were first downloaded"),
    "account_reset_password_from_key": (
        "account_emailaddress",
        "allauth notes a member's address in a table of its own when it first needs it",
    ),
}
