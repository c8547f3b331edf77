"""The WSGI entry point, for any server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")

application = get_wsgi_application()
