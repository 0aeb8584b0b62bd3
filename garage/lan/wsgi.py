"""The workshop's door when `manage.py serve` opens it. Each worker looks anew under which names it is reached."""

import os

from django.core.wsgi import get_wsgi_application

from garage.lan.names import asked_for, names_of_this_machine

names = dict.fromkeys([*asked_for(), *names_of_this_machine().as_allowed_hosts()])
os.environ["ALLOWED_HOSTS"] = ",".join(names)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
application = get_wsgi_application()
