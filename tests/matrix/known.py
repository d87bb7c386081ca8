"""What is not as it is elsewhere, by address: once it is no longer so it has to go from here, as its test says."""

#: Where looking writes: into which table, and no other, and why that is meant so.
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
#: Where a secret in the address stands in the log once it is asked for in a way that is refused.
LOGS_ITS_SECRET: set[str] = set()
#: What is shown, by a part of the canary's name: the reference, and no more, of what a car's former keeper paid for
#: work that the export of its keeper tells of.
SHOWS = {"costing:export": "reference of repairs"}
