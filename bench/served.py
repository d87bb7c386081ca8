"""The book as gunicorn serves it in a trial of load: its clock goes on from the moment in SERVED_FROM (ISO)."""

import os
from datetime import datetime

import time_machine

time_machine.travel(datetime.fromisoformat(os.environ["SERVED_FROM"])).start()

from config.wsgi import application  # noqa: E402 - what it imports may look at the clock

__all__ = ["application"]
