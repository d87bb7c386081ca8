"""Why a file is not read, as a sentence for whoever sent it."""


class Refused(ValueError):
    """The file is none that can be read. The message is a sentence."""
