"""How passwords are hashed."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class FrugalArgon2Hasher(Argon2PasswordHasher):
    """Argon2id with OWASP's least memory: 19 MiB, two passes, one thread.

    Django's own takes 100 MiB for each try at the door, and eight threads hash at once.
    """

    memory_cost = 19 * 1024
    time_cost = 2
    parallelism = 1
