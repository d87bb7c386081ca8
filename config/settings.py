"""Settings, all of them from the environment; with none set, a first look on SQLite.

Variables: SITE_URL, ALLOWED_HOSTS, SECRET_KEY, DEBUG, DATA_DIR, DATABASE_URL, REDIS_URL, EMAIL_URL, MAIL_FROM.
Each is described in .env.example.
"""

from pathlib import Path

from csp.constants import NONE, SELF

from config import budgets, environment

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(environment.text("DATA_DIR", str(BASE_DIR / "var")))

DEBUG = environment.flag("DEBUG", default=False)
SITE_URL = environment.site_url("SITE_URL", "http://localhost:8000")
SITE_IS_SECURE = SITE_URL.startswith("https://")
ALLOWED_HOSTS = environment.listed("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = [SITE_URL]

DATABASES = {"default": environment.database("DATABASE_URL", DATA_DIR / "book.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
REDIS_URL = environment.broker("REDIS_URL")
#: Embedded: no broker. Tasks run in the process that asked, after commit, and a loop keeps the schedule.
EMBEDDED = not REDIS_URL
SECRET_KEY = environment.secret_key(
    "SECRET_KEY", keep_in=DATA_DIR / "secret_key", may_make=EMBEDDED and not SITE_IS_SECURE
)

INSTALLED_APPS = [
    "config.apps.BookAdminConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "simple_history",
    "allauth",
    "allauth.account",
    "instructors",
    "fleet",
    "costing",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "config.http.BoundedRequestMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "config.http.HtmxLoginMiddleware",
    "config.pdf.CannotPrintMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
]

DATA_UPLOAD_MAX_MEMORY_SIZE = budgets.FORM_BYTES
DATA_UPLOAD_MAX_NUMBER_FIELDS = budgets.FORM_FIELDS
DATA_UPLOAD_MAX_NUMBER_FILES = budgets.FORM_FILES

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fleet.standing.stopped_cars",
            ],
            "builtins": ["config.templatetags.showing"],
        },
    },
]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "Europe/London"
USE_I18N = True
USE_TZ = True
DATE_INPUT_FORMATS = ["%Y-%m-%d", "%d/%m/%Y", "%d/%m/%y", "%d %B %Y", "%d %b %Y"]

#: Photos. Nothing here has an address: a view serves each to whom it belongs.
MEDIA_ROOT = DATA_DIR / "files"

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
#: A first look serves the files as they lie; a server has them collected, hashed and compressed.
STATIC_FILES_COLLECTED = environment.flag("STATIC_FILES_COLLECTED", default=not EMBEDDED)
WHITENOISE_USE_FINDERS = not STATIC_FILES_COLLECTED
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if STATIC_FILES_COLLECTED
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}

# --- Signing in: by password or by an e-mailed code; nobody signs themselves up ---------------------
AUTH_USER_MODEL = "instructors.Member"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "costing:home"
ACCOUNT_ADAPTER = "instructors.adapter.ClosedBookAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_DEFAULT_HTTP_PROTOCOL = "https" if SITE_IS_SECURE else "http"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
#: Two months: a member on a forecourt should not meet the sign-in page every fortnight.
SESSION_COOKIE_AGE = 60 * 24 * 3600

# --- Transport and browser security ---------------------------------------------------------------------
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SITE_IS_SECURE
SECURE_SSL_REDIRECT = SITE_IS_SECURE
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if SITE_IS_SECURE else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = SITE_IS_SECURE
#: The proxy in front is the only one that can reach the web process; it sets this header itself.
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if SITE_IS_SECURE else None
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

# --- Mail ------------------------------------------------------------------------------------------------
DEFAULT_FROM_EMAIL = SERVER_EMAIL = environment.text("MAIL_FROM", "Tuition Car Book <book@localhost>")
EMAIL_TIMEOUT = 20
#: Without a mail server every message is written to a file: nothing is ever silently dropped.
EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
EMAIL_FILE_PATH = str(DATA_DIR / "mail")
_mail_server = environment.mail("EMAIL_URL")
EMAIL_IS_SENT = bool(_mail_server)
globals().update(_mail_server)

# --- Tasks and cache -------------------------------------------------------------------------------------
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
    if EMBEDDED
    else {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": REDIS_URL.replace("redis+socket://", "unix://"),
    }
}
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_ALWAYS_EAGER = EMBEDDED
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = TIME_ZONE
CELERY_TASK_TIME_LIMIT = 15 * 60
#: The visibility timeout lies above the longest task; the other two bring a killed worker's task back soon.
CELERY_BROKER_TRANSPORT_OPTIONS = (
    {} if EMBEDDED else {"visibility_timeout": 3600, "unacked_restore_interval": 5, "unacked_restore_throttle": 1}
)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    # Seven lines for every PDF, whatever it is.
    "loggers": {"weasyprint.progress": {"level": "WARNING"}},
    "root": {
        "handlers": ["console"],
        "level": environment.one_of("LOG_LEVEL", ["DEBUG", "INFO", "WARNING", "ERROR"], default="INFO"),
    },
}

# --- The book itself -------------------------------------------------------------------------------------
#: Queries that yield (car id, day, miles). A fill shows the odometer too, and fleet may not know costing.
ODOMETER_SOURCES = ["fleet.queries.recorded_readings", "costing.queries.fill_readings"]
#: Where the cost of work on a car is kept: an object as ``fleet.costs.CostBook`` describes it.
COST_BOOK = "costing.actions.work.COST_BOOK"
