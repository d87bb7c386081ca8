"""What the commands of the costs share."""

from config.commands import DataSaysNo
from instructors.models import Member
from instructors.queries import member_with


def member_named(address: str) -> Member:
    """Return the member with an e-mail address. Raises DataSaysNo if there is none."""
    member = member_with(address)
    if member is None:
        raise DataSaysNo(f"There is no member with the e-mail address {address}.")
    return member
