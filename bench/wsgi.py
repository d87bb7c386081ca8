"""The site as `config.wsgi` serves it, with the bare views of `bench.answers` in it, for gunicorn."""

from django.conf import settings

from config.wsgi import application

__all__ = ["application"]

settings.ROOT_URLCONF = "bench.answers"
