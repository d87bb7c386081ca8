"""All limits on signing in: how often somebody may try, and how many mails anybody may cause.

A stranger's tries never count against a member on a device where the member has signed in before (``devices``): that
device has a count of its own. Everybody else is counted by client and address together, and over all clients.

What guessing costs. One client gets 20 tries a day at one address, all clients of the world together 100 a day, which
is 36,500 a year. A password has at least 12 characters and is not a common one. A code of 8 letters out of 20 allows 3
tries at 25,600,000,000 possibilities. The six digits of an authenticator app would take somebody who has the password
already 1,000,000 tries on average, or 27 years.

Nobody can lock a member out of a device where they have signed in before, nor of any where they have a passkey, which
counts against nothing here. On a new device without one, five clients that give a day to one member can have both
passwords and mails refused, until the next day and to that member alone. Less is not to be had: whatever let a stranger
cause one more mail would fill the member's inbox.

Nothing here is counted for the whole book, because strangers could use that up for everybody with addresses that they
invent. Mails go to members alone, so their number times what each may get in a day is the most that strangers cause.

Whether an address is a member's stays untold: an invented one is counted as a member's is, and refused after as many.
"""

from django.http import HttpRequest

from config.limits import Allowance, Limit
from config.proxies import client_network
from instructors.signing_in import devices

_MINUTE = 60
_HOUR = 60 * _MINUTE
_DAY = 24 * _HOUR

# Wrong passwords, and wrong codes of a second factor.
TRIES_ON_DEVICE = Limit("tries on device", 10, 15 * _MINUTE)
TRIES_ON_DEVICE_IN_A_DAY = Limit("tries on device in a day", 50, _DAY)
TRIES_BY_CLIENT_AT_ADDRESS = Limit("tries by client at address", 5, 15 * _MINUTE)
TRIES_BY_CLIENT_AT_ADDRESS_IN_A_DAY = Limit("tries by client at address in a day", 20, _DAY)
#: For a client that goes through all members' addresses; an office shared by members is one client too.
TRIES_BY_CLIENT = Limit("tries by client", 30, 15 * _MINUTE)
TRIES_BY_STRANGERS_AT_ADDRESS = Limit("tries by strangers at address", 100, _DAY)

#: Wrong entries of one e-mailed code, which works for three minutes and in one browser.
TRIES_AT_CODE = Limit("tries at code", 3, 15 * _MINUTE)

# Mails with a code or a link for a new password. None goes to an address that is no member's (``adapter``).
MAILS_TO_DEVICE = Limit("mails to device", 6, _HOUR)
MAILS_TO_DEVICE_IN_A_DAY = Limit("mails to device in a day", 20, _DAY)
MAILS_BY_CLIENT_TO_ADDRESS = Limit("mails by client to address", 3, 15 * _MINUTE)
MAILS_BY_CLIENT_TO_ADDRESS_IN_A_DAY = Limit("mails by client to address in a day", 6, _DAY)
MAILS_BY_CLIENT = Limit("mails by client", 10, _HOUR)
MAILS_BY_STRANGERS_TO_ADDRESS = Limit("mails by strangers to address", 30, _DAY)

#: Codes to new addresses that a member wants, and wrong entries of one such code.
NEW_ADDRESSES_BY_MEMBER = Limit("new addresses by member", 5, _DAY)
TRIES_AT_NEW_ADDRESS = Limit("tries at new address", 5, _HOUR)

#: Mails with the link of one invitation, the first among them: whoever is invited has not asked for any.
MAILS_OF_INVITATION = Limit("mails of invitation", 5, _DAY)


def tries_at(request: HttpRequest, email: str) -> list[Allowance]:
    """The allowances that a try at a password or a second factor of this address counts against."""
    email = email.strip().lower()
    if device := devices.known(request, email):
        return [TRIES_ON_DEVICE.of(device), TRIES_ON_DEVICE_IN_A_DAY.of(device)]
    client = client_network(request)
    return [
        TRIES_BY_CLIENT.of(client),
        TRIES_BY_CLIENT_AT_ADDRESS.of(client, email),
        TRIES_BY_CLIENT_AT_ADDRESS_IN_A_DAY.of(client, email),
        TRIES_BY_STRANGERS_AT_ADDRESS.of(email),
    ]


def mails_to(request: HttpRequest, email: str) -> list[Allowance]:
    """The allowances that a mail to this address counts against, whether or not it is a member's."""
    email = email.strip().lower()
    if device := devices.known(request, email):
        return [MAILS_TO_DEVICE.of(device), MAILS_TO_DEVICE_IN_A_DAY.of(device)]
    client = client_network(request)
    return [
        MAILS_BY_CLIENT.of(client),
        MAILS_BY_CLIENT_TO_ADDRESS.of(client, email),
        MAILS_BY_CLIENT_TO_ADDRESS_IN_A_DAY.of(client, email),
        MAILS_BY_STRANGERS_TO_ADDRESS.of(email),
    ]
