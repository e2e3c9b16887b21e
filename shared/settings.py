"""Settings, read from the environment; every one has a default that works on a machine with only Python.

DATABASE_URL     postgres://...      default: SQLite in VAR_DIR
REDIS_URL        redis://...         default: jobs through the file system, one child worker
SECRET_KEY       text                default: made once and kept in VAR_DIR
VAR_DIR          folder              default: ./var
DEBUG            true/false          default: false
ALLOWED_HOSTS    a,b                 default: this machine only
SITE_ADDRESS     https://...         where paper sends a phone if it was printed from the command line
TIME_ZONE        Europe/London       zone of the installation; a club has its own
"""

import hashlib
import os
from pathlib import Path

import environ
from csp.constants import NONCE, SELF
from django.core.management.utils import get_random_secret_key
from django.utils.translation import gettext_lazy as _

env = environ.Env()
BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.str("VAR_DIR", default=str(BASE_DIR / "var")))
VAR_DIR.mkdir(parents=True, exist_ok=True)


def kept_secret(path: Path) -> str:
    """The installation's own secret, made at the first start and readable by its owner only."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text()
    with os.fdopen(handle, "w") as file:
        secret = get_random_secret_key()
        file.write(secret)
    return secret


DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or kept_secret(VAR_DIR / "secret-key")
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
SITE_ADDRESS = env.str("SITE_ADDRESS", default="http://127.0.0.1:8000")
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    "shared",
    "squads",
    "drills",
    "planner",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",  # the templates of Django's own fields, for our FormRenderer
    "django_htmx",
    "csp",
    "axes",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shared.urls"
WSGI_APPLICATION = "shared.wsgi.application"
FORM_RENDERER = "shared.http.FormRenderer"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["shared.templatetags.plumbline"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "csp.context_processors.nonce",
                "shared.access.context",
            ],
        },
    }
]


# IMMEDIATE takes the write lock at the start of a transaction, so a read-then-write never fails half way;
# a connection kept open spares the checkpoint of the write-ahead log at each close.
SQLITE = {
    "CONN_MAX_AGE": 60,
    "OPTIONS": {
        "timeout": 20,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL",
    },
}


def database() -> dict:
    """SQLite that many processes may write to at once, unless DATABASE_URL names another database."""
    own = {"ENGINE": "django.db.backends.sqlite3", "NAME": VAR_DIR / "plumbline.sqlite3"}
    named = env.db("DATABASE_URL") if env.str("DATABASE_URL", default="") else own
    if named["ENGINE"] == own["ENGINE"]:
        return named | SQLITE
    return named | {"CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}


DATABASES = {"default": database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shared.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
# A guesser is slowed down per name and address; a clubhouse behind one address is not locked out as a whole.
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "shared/locked_out.html"
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
# Of a log-in that failed it keeps what was sent: the address to go on to may hold the secret of an invitation.
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "next"]

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", _("British English"))]
LOCALE_PATHS = [BASE_DIR / "shared" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.str("TIME_ZONE", default="Europe/London")

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)  # whitenoise warns at each start of a missing folder
# Hashed names would need a collectstatic before the first start; whitenoise reads the apps' folders instead.
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 0 if DEBUG else 3600

DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
SESSION_COOKIE_HTTPONLY = True
HTTPS = env.bool("HTTPS", default=False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
# Other names under the club's domain are not ours to force to HTTPS, nor to enter in browsers' lists.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF, NONCE],
        "style-src": [SELF, NONCE],
        "img-src": [SELF, "data:"],
        "object-src": ["'none'"],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": ["'none'"],
    }
}

REDIS_URL = env.str("REDIS_URL", default="")
JOB_LEASE_SECONDS = env.int("JOB_LEASE_SECONDS", default=15)


def kernels_version() -> str:
    """Numba looks at one file at a time and would keep code of a kernel whose callees changed in another."""
    core = BASE_DIR / "planner/core"
    sources = [*sorted(core.glob("flat*.py")), *sorted((core / "kernels").glob("*.py"))]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()[:12]


# Numba keeps its machine code here, so that only the first start of a version pays for compiling.
os.environ.setdefault("NUMBA_CACHE_DIR", str(VAR_DIR / "numba" / kernels_version()))

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "filters": {"masked": {"()": "shared.tokens.Masked"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["masked"]}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
    # WeasyPrint and fontTools tell of each glyph; that belongs in no coach's terminal.
    "loggers": {
        "fontTools": {"level": "ERROR"},
        "weasyprint": {"level": "ERROR"},
        "axes": {"level": "ERROR"},
        # The server for developing writes every path; it goes through the same mask.
        "django.server": {"handlers": ["console"], "level": "INFO", "propagate": False},
    },
}
