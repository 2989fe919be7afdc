"""The WSGI application; it has no live updates, so deploy ``dispatch.asgi`` where you can."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")

application = get_wsgi_application()
