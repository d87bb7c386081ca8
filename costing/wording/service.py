"""That a member had no car in service: said in one way by whatever lacks a figure for it."""

from config.showing import whole


def had_no_car(when: str = "then", *, is_of_one: bool = False) -> str:
    """Say it without a full stop; ``is_of_one``: of one car, that was out of service or with somebody else."""
    return f"you {'did not have this car' if is_of_one else 'had no car'} in service {when}"


def had_a_car(days: int, of_days: int) -> str:
    """Say on how many days they had one, without a full stop."""
    return f"you had a car in service on {whole(days)} of {whole(of_days)} days"
