# The book as one image: web, worker and beat run from it, with different commands (compose.yaml). And the front, as another.

FROM caddy:2.10.2-alpine AS front
# Its program is marked as one that may listen below port 1024. No container of ours gives that right, and it could not start.
RUN setcap -r /usr/bin/caddy \
    && adduser -S -D -H -u 10002 front \
    && install -d -o front -m 0700 /certificates
COPY config/front/Caddyfile config/front/away.html /etc/caddy/
WORKDIR /etc/caddy
USER front

FROM python:3.11.14-slim-bookworm AS packages
WORKDIR /app
COPY requirements/base.txt requirements/base.txt
RUN python -m venv /app/.venv \
    && /app/.venv/bin/pip install --no-cache-dir --disable-pip-version-check \
        --require-hashes -r requirements/base.txt

FROM python:3.11.14-slim-bookworm
# What lays out and subsets the text of PDFs, and the font they are set in.
RUN apt-get update \
    && apt-get install -y --no-install-recommends \
        libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core \
    && rm -rf /var/lib/apt/lists/*
ENV PATH=/app/.venv/bin:$PATH \
    PYTHONDONTWRITEBYTECODE=1 \
    PYTHONUNBUFFERED=1 \
    DATA_DIR=/app/var \
    STATIC_FILES_COLLECTED=1
# An account without rights: it can write to nothing in the image but the folder on which the volume of the photos is
# mounted, which takes its owner from there; all else belongs to root. So it is with the folder of backups.
RUN useradd --system --uid 10001 --no-create-home --shell /usr/sbin/nologin book \
    && install --directory --owner=book --group=nogroup --mode=0700 /app/backups \
    && install --directory --owner=book --group=nogroup --mode=0700 /app/var/files /app/var/files/arriving
WORKDIR /app
COPY --from=packages /app/.venv /app/.venv
COPY manage.py ./
COPY config config
COPY instructors instructors
COPY fleet fleet
COPY costing costing
COPY templates templates
COPY static static
# Collecting signs nothing, yet the settings ask for a key: this one is for this line alone and stays nowhere.
# The book closes to others what it writes; these files belong to root, and the account below must read them.
RUN SECRET_KEY=collecting-static-files-signs-nothing-at-all python manage.py collectstatic --no-input \
    && chmod a+rx /app/var \
    && chmod -R a+rX /app/var/static manage.py config instructors fleet costing templates static
USER book
EXPOSE 8000
# Preloaded: what stops the start is then said once and alone. The book itself writes a line on each answer.
CMD ["gunicorn", "config.wsgi", "--preload", "--bind=0.0.0.0:8000", "--workers=2", "--threads=4", \
    "--worker-tmp-dir=/dev/shm", "--no-control-socket"]
