"""Settings, all from the environment; with none set, the book runs on SQLite for a first look.

Variables: SITE_URL, ALLOWED_HOSTS, TRUSTED_PROXIES, SECRET_KEY, DEBUG, DATA_DIR, DATABASE_URL, DATABASE_PASSWORD,
REDIS_URL, EMAIL_URL, MAIL_FROM, BACKUP_RECIPIENT, BACKUP_FOLDER, BACKUP_URL, FILES_URL, ALARM_URL. Each is described in
.env.example.
"""

from pathlib import Path

from csp.constants import NONE, SELF

from config import budgets, environment, logs
from config.files import FILE_MODE, FOLDER_MODE, keep_private, make_private, overlap, require_folder, require_writable
from config.refusal import CannotStart

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = environment.folder("DATA_DIR") or BASE_DIR / "var"
require_folder("DATA_DIR", DATA_DIR)
# Every process of the book comes past here before it writes anything.
keep_private(DATA_DIR)

DEBUG = environment.flag("DEBUG", default=False)
#: If empty, ``config.site`` knows where the book is served.
SITE_URL = environment.site_url("SITE_URL")
SITE_IS_SECURE = SITE_URL.startswith("https://")
ALLOWED_HOSTS = environment.hosts("ALLOWED_HOSTS", site_url=SITE_URL)
CSRF_TRUSTED_ORIGINS = [SITE_URL] if SITE_URL else []
#: How many proxies to believe about X-Forwarded-For and X-Forwarded-Proto, which anybody else could forge.
TRUSTED_PROXIES = environment.count("TRUSTED_PROXIES", most=9, default=0)

DATABASES = {
    "default": environment.database(
        "DATABASE_URL", DATA_DIR / "book.sqlite3", environment.password("DATABASE_PASSWORD")
    )
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
REDIS_URL = environment.broker("REDIS_URL")
#: Without a broker, tasks run after commit in the process that asks, and a loop keeps the schedule.
EMBEDDED = not REDIS_URL
if EMBEDDED:
    # The database, mail and more lie in it. On a server that may be its folder of files alone: see config.wsgi.
    require_writable("DATA_DIR", DATA_DIR)
#: Whether `manage.py serve` brings an older database to this release; else it says how, and does not start.
MIGRATE_AT_START = environment.flag("MIGRATE_AT_START", default=True)
SECRET_KEY = environment.secret_key(
    "SECRET_KEY", keep_in=DATA_DIR / "secret_key", may_make=EMBEDDED and not SITE_IS_SECURE
)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    # For the templates of its widgets.
    "django.forms",
    "django_htmx",
    "csp",
    "simple_history",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "instructors",
    "fleet",
    "costing",
]

MIDDLEWARE = [
    "config.roomy.RoomyMiddleware",
    # Around all others: whatever they write down is about this request.
    "config.request_id.RequestIdMiddleware",
    "config.http.HealthIsForAnybodyMiddleware",
    "django.middleware.security.SecurityMiddleware",
    # Before WhiteNoise, so that static files get the policy too.
    "csp.middleware.CSPMiddleware",
    "config.page.PageMiddleware",
    "config.http.BoundedRequestMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.http.PrivatePagesMiddleware",
    # Around everything that writes or changes a page, and within WhiteNoise, which has its own compressed files.
    "config.compression.CompressedPagesMiddleware",
    "config.http.NotAllowedMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "instructors.signing_in.middleware.LifetimeMiddleware",
    # Before all that reads a body.
    "config.http.ShortFromStrangersMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "config.http.ScriptLoginMiddleware",
    "config.pdf.CannotPrintMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "instructors.signing_in.middleware.RefusalLogMiddleware",
    "instructors.signing_in.middleware.LastSeenMiddleware",
    "instructors.signing_in.middleware.FreshKeyMiddleware",
    "instructors.signing_in.middleware.SecondFactorMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
]

DATA_UPLOAD_MAX_MEMORY_SIZE = budgets.FORM_BYTES
#: What members bring never touches the disk: only requests beyond its bound do, for as long as they are read.
FILE_UPLOAD_MAX_MEMORY_SIZE = budgets.IMPORT_BYTES + 100_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = budgets.FORM_FIELDS
DATA_UPLOAD_MAX_NUMBER_FILES = budgets.FORM_FILES

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

_template_options = {
    "context_processors": [
        "django.template.context_processors.request",
        "django.contrib.auth.context_processors.auth",
        "django.contrib.messages.context_processors.messages",
        "instructors.access.member_of_page",
        "fleet.own_cars.stopped_cars",
    ],
    "builtins": [f"config.templatetags.{name}" for name in ("showing", "look", "charts", "paper", "mail")],
}
_templates = {"BACKEND": "django.template.backends.django.DjangoTemplates", "DIRS": [BASE_DIR / "templates"]}
_text_loaders = [
    ("django.template.loaders.cached.Loader", ["config.plain_text.ProjectTexts", "config.plain_text.AppTexts"])
]
_page_loaders = [
    ("django.template.loaders.cached.Loader", ["config.lean_pages.ProjectPages", "config.lean_pages.AppPages"])
]
TEMPLATES = [
    # The first engine that finds a template renders it; mails and subjects must not be escaped as HTML.
    _templates | {"NAME": "text", "OPTIONS": _template_options | {"autoescape": False, "loaders": _text_loaders}},
    _templates | {"NAME": "pages", "OPTIONS": _template_options | {"loaders": _page_loaders}},
]

FORM_RENDERER = "config.form_page.FormRenderer"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "Europe/London"
USE_I18N = True
USE_TZ = True
DATE_INPUT_FORMATS = ["%Y-%m-%d", "%d/%m/%Y", "%d/%m/%y", "%d %B %Y", "%d %b %Y"]

#: If set, photos, receipts and papers lie in this S3-compatible store, and MEDIA_ROOT has only what is on its way.
FILES_URL = environment.object_store("FILES_URL")
#: Photos. They have no address of their own: a view serves each to its owner.
MEDIA_ROOT = DATA_DIR / "files"
#: Uploads beyond FILE_UPLOAD_MAX_MEMORY_SIZE lie here while they are read, not where other programs keep theirs: a
#: photo tells where it was taken. What a killed process leaves is swept at night.
FILE_UPLOAD_TEMP_DIR = MEDIA_ROOT / "arriving"
make_private(FILE_UPLOAD_TEMP_DIR)
#: By default Django lets every account read uploads.
FILE_UPLOAD_PERMISSIONS, FILE_UPLOAD_DIRECTORY_PERMISSIONS = FILE_MODE, FOLDER_MODE

#: Backups are sealed to this key, and the secret one that opens them is not on this machine.
BACKUP_RECIPIENT = environment.recipient("BACKUP_RECIPIENT")
#: If set, the schedule makes one there each day.
BACKUP_FOLDER = environment.folder("BACKUP_FOLDER")
#: Or there, in an S3-compatible store.
BACKUP_URL = environment.object_store("BACKUP_URL")
if BACKUP_FOLDER and BACKUP_URL:
    raise CannotStart("BACKUP_URL: is set, and BACKUP_FOLDER too; backups go to one place: leave out one of them.")
if BACKUP_URL and FILES_URL and BACKUP_URL.is_within(FILES_URL):
    raise CannotStart("BACKUP_URL: lies in the place of FILES_URL; a restore would clear the backups away.")
if BACKUP_FOLDER and overlap(BACKUP_FOLDER, MEDIA_ROOT):
    raise CannotStart(
        f"BACKUP_FOLDER: {BACKUP_FOLDER} and the folder of the book's files, {MEDIA_ROOT}, lie one in the other; name"
        " one that is mounted from another machine."
    )
#: An https address that is told when members are no longer being told, and when they are again; empty if there is none.
ALARM_URL = environment.web_hook("ALARM_URL")

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
#: For a first look the files are served as they are; on a server they are collected, hashed and compressed.
STATIC_FILES_COLLECTED = environment.flag("STATIC_FILES_COLLECTED", default=not EMBEDDED)
WHITENOISE_USE_FINDERS = not STATIC_FILES_COLLECTED
#: No other site may read them.
WHITENOISE_ALLOW_ALL_ORIGINS = False
STORAGES = {
    "default": {"BACKEND": "config.object_files.ObjectFiles", "OPTIONS": {"store": FILES_URL}}
    if FILES_URL
    else {"BACKEND": "config.whole_files.WholeFiles"},
    "staticfiles": {
        "BACKEND": "config.lean.LeanStaticFiles"
        if STATIC_FILES_COLLECTED
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}

# --- Named slots: all that an app knows about the apps above it --------------------------------------------
#: Queries that yield (car id, day, miles). A fill is an odometer reading too, but fleet may not import costing.
ODOMETER_SOURCES = ["fleet.queries.reading_question", "costing.queries.fill_question"]
#: The query that gives the marks of the cars that each member keeps, for the list of people.
MARKS_BY_KEEPER = "fleet.queries.marks_by_keeper"
#: Where the cost of work on a car is kept: a ``fleet.costs.CostBook``.
COST_BOOK = "costing.actions.work.COST_BOOK"
#: The query that gives the last day on which each member logged something: a ``fleet.reminders.nudges.LastLogged``.
LAST_LOGGED = "costing.queries.last_logged"
#: The query that gives the registrations of the cars that a member keeps today, as they are read.
STILL_KEPT = "fleet.queries.still_kept"
#: The query that says, part by part, whether members are being told: see ``config.health``.
DUTY = "fleet.queries.duty"
#: How long a process goes by what it said: whoever asks, strangers too, costs the database no more than this.
DUTY_KEPT_SECONDS = 5
#: What whatever keeps the schedule calls now and again, so that others see that it does: see ``config.schedule``.
SCHEDULE_KEPT = "fleet.actions.note_schedule_kept"
#: What is noted of the place of the files, and of those that are lost: a ``config.files_place.Notes``.
FILE_NOTES = "instructors.actions.files.FILE_NOTES"
#: Models that tell of this installation and not of the book: no backup holds them, and a restore empties them.
OF_THIS_INSTALLATION = ("fleet.Pulse", "fleet.DutyTurn", "instructors.Cleaning", "instructors.FilesPlace")
#: What is kept for how long and why, in the order of the page that says so: rows of ``config.housekeeping``.
RETENTION = [
    "costing.actions.retention.OF_MONEY",
    "fleet.actions.retention.OF_CARS",
    "instructors.actions.retention.OF_PEOPLE",
    "config.housekeeping.OF_THE_MACHINE",
]
#: What each app does when a member is erased, the highest first; it gets the member, and the name
#: and address to take out of what others wrote.
ERASURE = ["costing.actions.erasure.erase_money", "fleet.actions.erasure.erase_of_cars"]
ERASURE += ["instructors.erasure.erase_signing_in"]
#: Pages that a lower app may link to; see ``config.site.page``.
PAGES = {"home": "costing:home", "more": "costing:more", "about-me": "fleet:profile"}
PAGES |= {"member-leave": "fleet:member-leave"}
#: How a lower app asks for a paper that the worker makes, the page that tells how far it is, and its makers by kind.
PAGES |= {"paper": "costing:paper"}
ASK_FOR_PAPER = "costing.actions.ask_for_paper"
PAPERS_BELOW = {"cars": "fleet.views.board_sheet.make_board"}
PAGES |= {"car-cost": "costing:car-cost", "car-card": "costing:car-card", "export": "costing:export"}
#: A page without an account, to which the one for signing in leads while the co-op has it switched on.
PAGES |= {"rent-or-own": "costing:rent-or-own"}
#: What makes the book a page that a phone installs, and the list of what waits there to be sent.
PAGES |= {"manifest": "costing:manifest", "worker": "costing:worker", "waiting": "costing:waiting"}
#: The parts that every page has around its content; see ``{% part %}``.
PARTS = {"navigation": "costing/_nav.html", "standing": "fleet/_standing.html"}

# --- Signing in: with a password or an e-mailed code; nobody signs themselves up ---------------------
AUTH_USER_MODEL = "instructors.Member"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = PAGES["home"]
ACCOUNT_ADAPTER = "instructors.signing_in.adapter.ClosedBookAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
#: Members get an e-mail about every change to how they sign in.
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_DEFAULT_HTTP_PROTOCOL = "https" if SITE_IS_SECURE else "http"
ACCOUNT_SESSION_REMEMBER = True
#: The book has its own limits, in instructors/signing_in/limits.py. allauth counts by address alone, so that anybody
#: could lock a member out.
ACCOUNT_RATE_LIMITS = False
#: Seconds after which a member must prove who they are again before a page that could shut them out.
ACCOUNT_REAUTHENTICATION_TIMEOUT = 15 * 60
ACCOUNT_FORMS = {
    "login": "instructors.signing_in.forms.LoginForm",
    "request_login_code": "instructors.signing_in.forms.RequestLoginCodeForm",
    "confirm_login_code": "instructors.signing_in.forms.ConfirmLoginCodeForm",
    "reset_password": "instructors.signing_in.forms.ResetPasswordForm",
    "reset_password_from_key": "instructors.signing_in.forms.ResetPasswordKeyForm",
    "change_password": "instructors.signing_in.forms.ChangePasswordForm",
    "set_password": "instructors.signing_in.forms.SetPasswordForm",
    "reauthenticate": "instructors.signing_in.forms.PasswordAgainForm",
}
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
#: Django's own, which reads the member's row; allauth's writes to a table of its own when a link is opened.
ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR = "django.contrib.auth.tokens.PasswordResetTokenGenerator"  # noqa: S105
#: A second step: a passkey, which can also sign in on its own, or an authenticator app; recovery codes if both fail.
MFA_ADAPTER = "instructors.signing_in.factors.FactorAdapter"
MFA_SUPPORTED_TYPES = ["webauthn", "totp", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_TOTP_ISSUER = "Tuition Car Book"
MFA_RATE_LIMITS = False
#: The invitation went to the address, so it needs no further proof.
MFA_ALLOW_UNVERIFIED_EMAIL = True
MFA_FORMS = {
    "authenticate": "instructors.signing_in.forms.AuthenticateForm",
    "reauthenticate": "instructors.signing_in.forms.ReauthenticateForm",
    "activate_totp": "instructors.signing_in.forms.ActivateTOTPForm",
    "add_webauthn": "instructors.signing_in.passkeys.AddWebAuthnForm",
    "authenticate_webauthn": "instructors.signing_in.passkeys.AuthenticateWebAuthnForm",
    "reauthenticate_webauthn": "instructors.signing_in.passkeys.ReauthenticateWebAuthnForm",
    "login_webauthn": "instructors.signing_in.passkeys.LoginWebAuthnForm",
}
PASSWORD_HASHERS = [
    "instructors.signing_in.passwords.FrugalArgon2Hasher",
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "instructors.signing_in.passwords.LengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "instructors.signing_in.passwords.NameValidator"},
]
SESSION_ENGINE = "config.sessions"
#: Two months, after which a member signs in again however much they have used the book.
SESSION_COOKIE_AGE = 60 * 24 * 3600

# --- Transport and browser security ---------------------------------------------------------------------
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SITE_IS_SECURE
#: Browsers accept a cookie with this prefix only from this very host and over https.
COOKIE_PREFIX = "__Host-" if SITE_IS_SECURE else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}sessionid", f"{COOKIE_PREFIX}csrftoken"
#: Pages hold the token that a form sends, so no script needs to read the cookie.
CSRF_COOKIE_HTTPONLY = True
SECURE_SSL_REDIRECT = SITE_IS_SECURE
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if SITE_IS_SECURE else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = SITE_IS_SECURE
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if TRUSTED_PROXIES else None
#: Browsers are redirected from http to https, but a calendar program is refused: see ``config.http.never_in_clear``.
SECURE_REDIRECT_EXEMPT = [r"^health/((live|ready)/)?$", r"^calendar/[^/]+\.ics$"]
X_FRAME_OPTIONS = "DENY"
#: Not in a cookie, which a browser keeps in clear, with any names in it.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
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
DEFAULT_FROM_EMAIL = SERVER_EMAIL = environment.sender("MAIL_FROM", "Tuition Car Book <book@localhost>")
EMAIL_TIMEOUT = 20
#: Without a mail server every message is written to a file, so nothing is silently dropped.
EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
EMAIL_FILE_PATH = str(DATA_DIR / "mail")
_mail_server = environment.mail("EMAIL_URL")
EMAIL_IS_SENT = bool(_mail_server)
globals().update(_mail_server)

# --- Tasks and cache -------------------------------------------------------------------------------------
CACHES = {
    # Enough entries that nobody can push another client's count of tries out of the cache.
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "OPTIONS": {"MAX_ENTRIES": 100_000}}
    if EMBEDDED
    else {
        "BACKEND": "config.steady_cache.SteadyCache",
        "LOCATION": REDIS_URL.replace("redis+socket://", "unix://"),
    }
}
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_ALWAYS_EAGER = EMBEDDED
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
#: In kB: a process that a long paper has made larger ends after it, and a new one takes its place.
CELERY_WORKER_MAX_MEMORY_PER_CHILD = 300_000
#: Redis may be gone for as long as it likes.
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP, CELERY_BROKER_CONNECTION_MAX_RETRIES = True, None
#: Or be full for as long, whatever the worker was about to write into it.
CELERY_BROKER_CHANNEL_ERROR_RETRY, CELERY_WORKER_CONSUMER = True, "config.loops:PatientConsumer"
CELERY_TIMEZONE = TIME_ZONE
CELERY_BEAT_SCHEDULER = "config.schedule:Scheduler"
CELERY_TASK_TIME_LIMIT = 15 * 60
#: The visibility timeout is longer than the longest task; the other two bring a killed worker's task back soon.
CELERY_BROKER_TRANSPORT_OPTIONS = (
    {} if EMBEDDED else {"visibility_timeout": 3600, "unacked_restore_interval": 5, "unacked_restore_throttle": 1}
)

LOGGING_CONFIG = "config.logs.configure"
LOG_FORM = environment.one_of("LOG_FORM", ["LINE", "JSON"], default="LINE")
LOGGING = logs.options(
    level=environment.one_of("LOG_LEVEL", ["DEBUG", "INFO", "WARNING", "ERROR"], default="INFO"),
    form=LOG_FORM,
)
