#!/usr/bin/env python
"""The one door to every command of the workshop's site."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)
