"""What a check raises that finds something wrong."""


class Wrong(Exception):
    """What is wrong, and what to do."""
