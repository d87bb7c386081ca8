"""Faults that are known and not mended yet, by address. Once one is mended it has to go from here: its test says so."""

#: What looking there writes.
WRITES_WHEN_LOOKED_AT = {
    "costing:home": "closes the month that has ended",
    "costing:group": "closes the month that has ended",
    "account_reset_password_from_key": "allauth notes a member's address in a table of its own when it first needs it",
}
#: Where a secret in the address stands in the log once it is asked for in a way that is refused.
LOGS_ITS_SECRET = {"fleet:calendar-feed", "instructors:accept-invitation"}
#: What is shown, by a part of the canary's name: the reference, and no more, of what a car's former keeper paid for
#: work that the export of its keeper tells of.
SHOWS = {"costing:export": "reference of repairs"}
