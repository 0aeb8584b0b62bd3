"""The workshop's door when `manage.py serve` opens it. Each worker looks anew under which names it is reached."""

import os

from django.core.wsgi import get_wsgi_application

from garage.site.lan.names import names_of_this_machine

asked_for = [name.strip() for name in os.environ.get("ALLOWED_HOSTS", "").split(",") if name.strip()]
own = names_of_this_machine(also=asked_for).as_allowed_hosts()
os.environ["ALLOWED_HOSTS"] = ",".join(dict.fromkeys([*asked_for, *own]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
application = get_wsgi_application()
