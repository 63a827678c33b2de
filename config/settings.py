"""Settings of every installation, read from the environment.

With no variables set this is the embedded installation: SQLite and a private Redis-protocol
server in SETWRIGHT_HOME, served on the loopback address. DATABASE_URL or REDIS_URL makes it a
production installation, which keeps its secrets in the environment and speaks HTTPS only.
`config/README.md` lists every variable.
"""

import sys
from pathlib import Path

import environ

from config.broker import (
    QUEUES,
    beat_schedule,
    broker_options,
    broker_url,
    photo_reader_installed,
)
from config.databases import database
from config.home import home_ensure, home_path, private_redis_url, secret_key
from config.logs import logging_settings

env = environ.Env()
CONFIG = Path(__file__).resolve().parent

# --- the installation ---------------------------------------------------------------------
SETWRIGHT_HOME = home_path()
SETWRIGHT_EMBEDDED = not env.str("DATABASE_URL", "") and not env.str("REDIS_URL", "")
REDIS_URL = env.str("REDIS_URL", "") or private_redis_url(SETWRIGHT_HOME)
SETWRIGHT_DEMO = env.bool("SETWRIGHT_DEMO", False)
SETWRIGHT_SITE_URL = env.str("SETWRIGHT_SITE_URL", "http://127.0.0.1:8000").rstrip("/")
SETWRIGHT_FLEET_SOURCE = "quotes.fleet.selectors.fleet_for_sizing"
SETWRIGHT_BRANCH_SOURCE = "quotes.fleet.selectors.branches_by_distance"
SETWRIGHT_READS_PHOTOS = env.bool("SETWRIGHT_READS_PHOTOS", photo_reader_installed())
HTTPS_ONLY = env.bool("HTTPS_ONLY", not SETWRIGHT_EMBEDDED)
if SETWRIGHT_EMBEDDED:
    home_ensure(SETWRIGHT_HOME)

DEBUG = env.bool("DEBUG", False)
SECRET_KEY = secret_key(
    given=env.str("SECRET_KEY", ""), home=SETWRIGHT_HOME, embedded=SETWRIGHT_EMBEDDED
)
SECRET_KEY_FALLBACKS = env.list("SECRET_KEY_FALLBACKS", default=[])
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])

# --- what it is made of -------------------------------------------------------------------
INSTALLED_APPS = [
    "config",
    "intake",
    "quotes",
    "config.owners_tables.OwnersTablesConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
]
MIDDLEWARE = [
    "config.client_address.ClientAddressMiddleware",
    "config.request_id.RequestIdMiddleware",
    "config.forgetting.ForgettingMiddleware",
    "config.metrics.requests.MetricsMiddleware",
    "config.headers.HeadersMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.sessions.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_otp.middleware.OTPMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "config.throttle.ThrottleMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
ASGI_APPLICATION = "config.asgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.context.installation",
            ],
        },
    },
]

# --- data ---------------------------------------------------------------------------------
DATABASES = {
    "default": database(
        env.db("DATABASE_URL", default=f"sqlite:///{SETWRIGHT_HOME / 'setwright.sqlite3'}"),
        pool_size=env.int("DATABASE_POOL_SIZE", 8),
    )
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = env.str("MEDIA_ROOT", str(SETWRIGHT_HOME / "media"))
MEDIA_URL = ""  # uploads and documents are never served by path, only by views that ask who asks
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4_000
CACHES = {"default": env.cache("CACHE_URL", default="locmemcache://")}

# --- language and time --------------------------------------------------------------------
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# --- static files -------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = env.str("STATIC_ROOT", str(SETWRIGHT_HOME / "static"))
WHITENOISE_USE_FINDERS = SETWRIGHT_EMBEDDED
STATICFILES_STORAGE_CLASS = (
    "django.contrib.staticfiles.storage.StaticFilesStorage"
    if SETWRIGHT_EMBEDDED
    else "whitenoise.storage.CompressedManifestStaticFilesStorage"
)
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": STATICFILES_STORAGE_CLASS},
}

# --- people -------------------------------------------------------------------------------
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "intake.desk.backend.StaffBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "config.passwords.TradeWordsValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/desk/"
LOGOUT_REDIRECT_URL = "/"
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]  # never the owner alone, never an office
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "accounts/locked.html"
AXES_VERBOSE = False
SESSION_ENGINE = "config.sessions"
SESSION_COOKIE_AGE = env.int("SESSION_HOURS", 12) * 3600  # a working day, then sign in again
SETWRIGHT_SESSION_IDLE_MINUTES = env.int("SESSION_IDLE_MINUTES", 120)  # 0: as long as it holds
if SESSION_COOKIE_AGE <= 0 or SETWRIGHT_SESSION_IDLE_MINUTES < 0:
    raise environ.ImproperlyConfigured(
        "SESSION_HOURS is a whole number from 1, SESSION_IDLE_MINUTES from 0 (0 is no such end)"
    )
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"  # the admin's alone
OTP_TOTP_ISSUER = "Setwright"
SETWRIGHT_CODES_FOR = env.str("SETWRIGHT_CODES_FOR", "nobody" if SETWRIGHT_DEMO else "admin")
if SETWRIGHT_CODES_FOR not in ("nobody", "admin", "everybody"):
    raise environ.ImproperlyConfigured(
        "SETWRIGHT_CODES_FOR is nobody, admin or everybody: who must sign in with one-time codes"
    )

# --- the desk -----------------------------------------------------------------------------
SETWRIGHT_TIME_ZONE = env.str("SETWRIGHT_TIME_ZONE", "America/Denver")
SETWRIGHT_OPENS_AT = env.int("SETWRIGHT_OPENS_AT", 7)  # whole hours; promises count open hours
SETWRIGHT_CLOSES_AT = env.int("SETWRIGHT_CLOSES_AT", 17)
SETWRIGHT_ANSWER_HOURS = env.int("SETWRIGHT_ANSWER_HOURS", 2)
SETWRIGHT_EMERGENCY_ANSWER_MINUTES = env.int("SETWRIGHT_EMERGENCY_ANSWER_MINUTES", 30)
SETWRIGHT_ASK_AGAIN_HOURS = env.int("SETWRIGHT_ASK_AGAIN_HOURS", 24)  # no answer: case comes back
SETWRIGHT_DUTY_EMAILS = env.list("SETWRIGHT_DUTY_EMAILS", default=[])  # called in any emergency
SETWRIGHT_FIGURE_SOURCES = ("quotes.desk.figures.quote_figures",)
SETWRIGHT_CASE_NOTES = ("quotes.emergency.paging.words.case_notes",)  # said at the head of a case
if not 0 <= SETWRIGHT_OPENS_AT < SETWRIGHT_CLOSES_AT <= 23:
    raise environ.ImproperlyConfigured("SETWRIGHT_OPENS_AT must come before SETWRIGHT_CLOSES_AT")

# --- emergencies --------------------------------------------------------------------------
EMERGENCY_SLOT_H = env.float("EMERGENCY_SLOT_H", 0.5)  # how finely a plan counts time
EMERGENCY_HORIZON_H = env.float("EMERGENCY_HORIZON_H", 24.0)  # a plan looks so far ahead
EMERGENCY_HOOKUP_H = env.float("EMERGENCY_HOOKUP_H", 1.0)  # set down, connect, test
EMERGENCY_ROAD_KM_H = env.float("EMERGENCY_ROAD_KM_H", 40.0)  # a truck with a set, bad roads
EMERGENCY_REACH_KM = env.float("EMERGENCY_REACH_KM", 250.0)  # yards farther off stay out
EMERGENCY_COMBINE_M = env.float("EMERGENCY_COMBINE_M", 120.0)  # sites so near may share a set
EMERGENCY_HOLD_DAYS = env.int("EMERGENCY_HOLD_DAYS", 7)  # a booking, where no end is expected
EMERGENCY_RETURN_H = env.float("EMERGENCY_RETURN_H", 4.0)  # back in the yard, filled and checked
EMERGENCY_SECONDS = env.float("EMERGENCY_SECONDS", 20.0)  # a plan of up to 200 sites may take
EMERGENCY_SECONDS_MOST = env.float("EMERGENCY_SECONDS_MOST", 360.0)  # larger ones more, up to this
EMERGENCY_PLANS_AT_ONCE = env.int("EMERGENCY_PLANS_AT_ONCE", 1)  # calls go by their queue as well
EMERGENCY_CALL_NEXT_MINUTES = env.int("EMERGENCY_CALL_NEXT_MINUTES", 15)  # late: the next person
EMERGENCY_NEXT_EMAILS = env.list("EMERGENCY_NEXT_EMAILS", default=[])  # who that is; else managers
if EMERGENCY_CALL_NEXT_MINUTES < 1:
    raise environ.ImproperlyConfigured("EMERGENCY_CALL_NEXT_MINUTES is a whole number from 1")
if not 0 < EMERGENCY_SECONDS <= EMERGENCY_SECONDS_MOST:
    raise environ.ImproperlyConfigured("EMERGENCY_SECONDS_MOST is at least EMERGENCY_SECONDS")
if EMERGENCY_PLANS_AT_ONCE < 1:
    raise environ.ImproperlyConfigured("EMERGENCY_PLANS_AT_ONCE is a whole number from 1")

# --- how long things are kept: days, 0 for ever; see quotes/privacy/retention.py --------------
SETWRIGHT_LINK_DAYS = env.int("SETWRIGHT_LINK_DAYS", 90)
KEEP_DRAFTS_DAYS = env.int("KEEP_DRAFTS_DAYS", 60)
KEEP_CLOSED_DAYS = env.int("KEEP_CLOSED_DAYS", 730)
KEEP_ORDERS_DAYS = env.int("KEEP_ORDERS_DAYS", 2557)
KEEP_PHOTOS_DAYS = env.int("KEEP_PHOTOS_DAYS", 365)
KEEP_SIGN_INS_DAYS = env.int("KEEP_SIGN_INS_DAYS", 180)
KEEP_MESSAGES_DAYS = env.int("KEEP_MESSAGES_DAYS", 30)
KEEP_DELIVERIES_DAYS = env.int("KEEP_DELIVERIES_DAYS", 90)
if 0 < KEEP_DELIVERIES_DAYS < 7:
    raise environ.ImproperlyConfigured(
        "KEEP_DELIVERIES_DAYS must be 7 or more, or 0: a webhook that took something in the days "
        "of retries is not switched off"
    )
if KEEP_MESSAGES_DAYS < 30:
    raise environ.ImproperlyConfigured(
        "KEEP_MESSAGES_DAYS must be 30 or more: `setwright audit` looks for the letters of a month"
    )

# --- security -----------------------------------------------------------------------------
SECURE_SSL_REDIRECT = HTTPS_ONLY
SECURE_REDIRECT_EXEMPT = [r"^health/"]
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS_ONLY else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS_ONLY
SECURE_HSTS_PRELOAD = HTTPS_ONLY
SECURE_REFERRER_POLICY = "same-origin"
BEHIND_TLS_PROXY = env.bool("BEHIND_TLS_PROXY", False)
if BEHIND_TLS_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
PROXIES = env.int("PROXIES", 1 if BEHIND_TLS_PROXY else 0)  # of ours, before the web server
if HTTPS_ONLY:  # a cookie that only this host can set, over TLS
    SESSION_COOKIE_NAME = "__Host-sessionid"
    CSRF_COOKIE_NAME = "__Host-csrftoken"
SESSION_COOKIE_SECURE = HTTPS_ONLY
CSRF_COOKIE_SECURE = HTTPS_ONLY
LANGUAGE_COOKIE_SECURE = HTTPS_ONLY
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
FORMS_AN_HOUR = {  # posts an hour from one address; one office may share an address
    "intake:start": 60,
    "intake:link": 30,
    "intake:load": 600,
    "intake:plate_read": 1200,
    "quotes:set_help": 60,
    "quotes:body_link": 20,
    "quotes:express": 300,  # an emergency: only a flood is refused, and told to call
    "quotes:change": 60,
    "quotes:decline": 60,
}
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "config.error_pages.csrf_refused"
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
X_FRAME_OPTIONS = "DENY"

# --- mail ---------------------------------------------------------------------------------
vars().update(env.email_url("EMAIL_URL", default="consolemail://"))
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", "Setwright <hire@example.com>")
SERVER_EMAIL = DEFAULT_FROM_EMAIL
EMAIL_TIMEOUT = 10

# --- API ----------------------------------------------------------------------------------
REST_FRAMEWORK = {
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_AUTHENTICATION_CLASSES": ["intake.api.keys.KeyAuthentication"],
    "EXCEPTION_HANDLER": "intake.api.problems.problem_handler",
    "UNAUTHENTICATED_USER": None,
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "COERCE_DECIMAL_TO_STRING": True,
}
SETWRIGHT_API_CALLS_PER_MINUTE = env.int("SETWRIGHT_API_CALLS_PER_MINUTE", 120)
# Webhooks go to public addresses by https. With this set also to this machine, by http.
SETWRIGHT_WEBHOOKS_TO_LOOPBACK = env.bool("SETWRIGHT_WEBHOOKS_TO_LOOPBACK", SETWRIGHT_EMBEDDED)
SETWRIGHT_WEBHOOK_TIMEOUT_S = env.int("SETWRIGHT_WEBHOOK_TIMEOUT_S", 15)
SPECTACULAR_SETTINGS = {
    "TITLE": "Setwright",
    "DESCRIPTION": "Ask for, size, price and book towable diesel generator sets.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "COMPONENT_SPLIT_REQUEST": True,
    "PREPROCESSING_HOOKS": ["config.api.schema.ours"],
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "config.api.schema.finished",
    ],
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "CaseStateEnum": "intake.api.shapes.cases.CASE_STATES",
        "FindingStateEnum": "intake.api.shapes.cases.FINDING_STATES",
        "SettledAsEnum": "intake.api.shapes.cases.SETTLED_AS",
        "QuoteStateEnum": "quotes.api.shapes.QUOTE_STATES",
        "LoadKindEnum": "intake.api.shapes.sizing.LOAD_KINDS",
        "RequestStatusEnum": "intake.api.shapes.requests.STATUSES",
        "WebhookKindEnum": "intake.api.shapes.webhooks.WEBHOOK_KINDS",
        "UnitStateEnum": "quotes.api.shapes.UNIT_STATES",
        "OrderStateEnum": "quotes.api.shapes.ORDER_STATES",
    },
}

# --- tasks --------------------------------------------------------------------------------
# A task may be delivered twice and late: it is acknowledged only when done, and the outbox's
# marks make it take effect once (see intake/outbox).
TASK_TIME_LIMIT_S = env.int("TASK_TIME_LIMIT_S", 120)
CELERY_BROKER_URL = broker_url(REDIS_URL)
CELERY_BROKER_TRANSPORT_OPTIONS = broker_options(time_limit_s=TASK_TIME_LIMIT_S)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_REDIS_SOCKET_TIMEOUT = 2
CELERY_REDIS_SOCKET_CONNECT_TIMEOUT = 2
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_TIME_LIMIT = TASK_TIME_LIMIT_S
CELERY_TASK_SOFT_TIME_LIMIT = max(1, TASK_TIME_LIMIT_S * 5 // 6)
CELERY_TASK_DEFAULT_QUEUE = "default"
CELERY_TASK_QUEUES = {name: {"exchange": name, "routing_key": name} for name in QUEUES}
CELERY_TASK_CREATE_MISSING_QUEUES = False  # a misspelt queue is an error, not a silent hole
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = True
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 10
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = "UTC"
CELERY_ENABLE_UTC = True
CELERY_BEAT_SCHEDULE_FILENAME = str(SETWRIGHT_HOME / "beat-schedule")
CELERY_BEAT_SCHEDULE = beat_schedule(
    {
        "config.sweeps.outbox_sweep": 30,
        "config.sweeps.canary": 30,
        "config.sweeps.tidy": 3600,
        "config.sweeps.keep_no_longer": 3600,
        "quotes.sweeps.expire_offers": 60,
        "quotes.sweeps.remind_customers": 900,
        "quotes.sweeps.call_again": 30,
        "quotes.sweeps.size_needs": 60,
        "quotes.sweeps.size_sites": 300,
        "quotes.sweeps.remind_reviews": 3600,
    }
)

# --- logs and figures ---------------------------------------------------------------------
LOG_REQUESTS = env.bool("LOG_REQUESTS", not SETWRIGHT_EMBEDDED)  # a line a request and a task
METRICS_TOKEN = env.str("METRICS_TOKEN", "")
LOGGING = logging_settings(
    level=env.str("LOG_LEVEL", "INFO"),
    as_json=env.bool("LOG_JSON", not SETWRIGHT_EMBEDDED),
    colours=sys.stderr.isatty(),
)

SILENCED_SYSTEM_CHECKS: list[str] = []
