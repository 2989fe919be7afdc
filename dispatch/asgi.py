"""The ASGI application that serves pages, API and live updates."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")

django_application = get_asgi_application()

from dispatch.body_limit import BodyLimitGuard  # noqa: E402  # settings must be loaded first
from dispatch.garbage import look_seldom  # noqa: E402  # likewise

application = BodyLimitGuard(django_application)
look_seldom()
