"""The book's own settings under test: a throw-away folder, database and broker, and a quick password hash.

Tasks are really queued (REDIS_URL is set), so that a task sent before its transaction commits shows.
"""

import os

from tests import run

run.prepare_environment()

from config.settings import *  # noqa: E402, F403 - only now does the environment say what to read
from config.settings import DATABASES  # noqa: E402

#: A file, not memory: other processes of a test must reach it too.
DATABASES["default"]["TEST"] = {"NAME": os.environ[run.TEST_DATABASE_NAME]}

#: Argon2 is slow on purpose; no test measures it.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

#: A test asks again at once. Processes that it starts keep what they said, as on a server.
DUTY_KEPT_SECONDS = 0
