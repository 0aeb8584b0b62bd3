"""The door for a WSGI server such as gunicorn."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
application = get_wsgi_application()

from garage.people.set_up import announce  # noqa: E402 - models can be imported only now
from garage.site.damage import refuse_a_damaged_workshop  # noqa: E402

refuse_a_damaged_workshop()
if notice := announce():
    print(notice, flush=True)  # noqa: T201 - the console is the only place where the one-time code may appear
