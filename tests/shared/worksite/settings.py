"""The site's settings and one slow task more."""

from shared.settings import *  # noqa: F403
from shared.settings import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.shared.worksite"]
