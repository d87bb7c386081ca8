"""Who asks."""

KEEPER, FORMER_KEEPER, NEW_KEEPER = "keeper", "former keeper", "new keeper"
COLLEAGUE, STRANGER = "colleague", "stranger"
COORDINATOR, COORDINATOR_WITH_CAR = "coordinator", "coordinator with a car"
FORMER_MEMBER, ANONYMOUS = "former member", "anonymous"
#: Whoever reads the log of the server: which addresses were asked for, and no secret in any.
LOG = "the log"
#: Whoever reads the mail of an invitation.
INVITED = "invited"

COORDINATORS = frozenset({COORDINATOR, COORDINATOR_WITH_CAR})
#: Whoever is a member today.
MEMBERS = frozenset({KEEPER, FORMER_KEEPER, NEW_KEEPER, COLLEAGUE, STRANGER}) | COORDINATORS
#: Whoever signs in with an authenticator app too.
WITH_APP = frozenset({KEEPER, FORMER_KEEPER, COORDINATOR_WITH_CAR})
#: Whoever has a passkey: all who keep a car, or kept one.
WITH_PASSKEY = frozenset({KEEPER, FORMER_KEEPER, NEW_KEEPER, COLLEAGUE, COORDINATOR_WITH_CAR})
#: Always in this order, so that a failure reads the same every time.
EVERYBODY = (
    *(KEEPER, FORMER_KEEPER, NEW_KEEPER, COLLEAGUE, STRANGER),
    *(COORDINATOR, COORDINATOR_WITH_CAR, FORMER_MEMBER, ANONYMOUS),
)
