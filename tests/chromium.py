"""Where this machine keeps its Chromium, if it has one."""

import os
import shutil

PROGRAM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
