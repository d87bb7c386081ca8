"""Why a file is not read, as a sentence for whoever sent it."""

#: Said of more characters in all than a page can carry.
TOO_MUCH_IN_IT = "There is too much in this file. Send it in parts."


class Refused(ValueError):
    """The file is none that can be read. The message is a sentence."""
