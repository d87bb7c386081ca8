"""Why a backup is not made, or not restored, in words for whoever asked."""


class Refused(Exception):
    """What was asked cannot be done, and nothing was changed."""


class Busy(Refused):
    """Another backup or restore of this book runs just now."""
