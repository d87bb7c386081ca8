"""How often somebody may try to sign in, and how many mails somebody who is not signed in may cause: all numbers.

They are kept so that a stranger's tries are never counted against a member on a device that has signed them in before
(``devices``): that device has a count of its own, which no other can use up. Everybody else is counted by client and
address together, and over all clients.

What it costs to guess. From one client 20 tries a day fit at one address, from all clients of the world 100 a day:
36,500 a year. A password has 12 characters and is not on the list of common ones; a code of 8 letters out of 20 takes
3 tries of 25,600,000,000; the six digits of an authenticator app, for whoever has the password already, would take
1,000,000 tries on average within 27 years. Nobody can keep a member out with it: for a device that is not known yet
to be refused all day by password, five clients must keep at it, and a code by e-mail or a passkey still opens.
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
#: One who goes through the addresses of all members; an office of theirs shares one client.
TRIES_BY_CLIENT = Limit("tries by client", 30, 15 * _MINUTE)
TRIES_BY_STRANGERS_AT_ADDRESS = Limit("tries by strangers at address", 100, _DAY)

#: Wrong entries of one e-mailed code, which is good for three minutes and in one browser.
TRIES_AT_CODE = Limit("tries at code", 3, 15 * _MINUTE)

# Mails with a code or a link for a new password. To an address of nobody there goes none at all (``adapter``).
MAILS_TO_DEVICE = Limit("mails to device", 6, _HOUR)
MAILS_TO_DEVICE_IN_A_DAY = Limit("mails to device in a day", 20, _DAY)
MAILS_BY_CLIENT_TO_ADDRESS = Limit("mails by client to address", 3, 15 * _MINUTE)
MAILS_BY_CLIENT_TO_ADDRESS_IN_A_DAY = Limit("mails by client to address in a day", 6, _DAY)
MAILS_BY_CLIENT = Limit("mails by client", 10, _HOUR)
MAILS_BY_STRANGERS_TO_ADDRESS = Limit("mails by strangers to address", 30, _DAY)
#: Of the whole book: what a mail server's good name can bear.
MAILS_BY_STRANGERS = Limit("mails by strangers", 60, _HOUR)

#: Codes that a member has sent to addresses that may become theirs, and wrong entries of one.
NEW_ADDRESSES_BY_MEMBER = Limit("new addresses by member", 5, _DAY)
TRIES_AT_NEW_ADDRESS = Limit("tries at new address", 5, _HOUR)


def tries_at(request: HttpRequest, email: str) -> list[Allowance]:
    """What a try at an address is counted against: password, or second factor."""
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
    """What a mail that somebody asks for to an address is counted against, whether or not it is a member's."""
    email = email.strip().lower()
    if device := devices.known(request, email):
        return [MAILS_TO_DEVICE.of(device), MAILS_TO_DEVICE_IN_A_DAY.of(device)]
    client = client_network(request)
    return [
        MAILS_BY_STRANGERS.of(),
        MAILS_BY_CLIENT.of(client),
        MAILS_BY_CLIENT_TO_ADDRESS.of(client, email),
        MAILS_BY_CLIENT_TO_ADDRESS_IN_A_DAY.of(client, email),
        MAILS_BY_STRANGERS_TO_ADDRESS.of(email),
    ]
