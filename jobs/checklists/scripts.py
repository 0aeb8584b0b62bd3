"""The modules that a page's script imports, so that the page can ask for all of them at once."""

import re
from functools import lru_cache
from pathlib import PurePosixPath

from django.conf import settings
from django.templatetags.static import static

# `import … from "./x.js"`, `export … from "./x.js"` and `import("./x.js")`.
IMPORTED = re.compile(r"""(?:from|import\()\s*"(\.{1,2}/[^"]+\.js)\"""")


def modules_of(script: str) -> list[str]:
    """The addresses of `script` (below static/js) and of all it imports, however far."""
    return _modules_of(script) if not settings.DEBUG else _modules_of.__wrapped__(script)


@lru_cache(maxsize=8)
def _modules_of(script: str) -> list[str]:
    found: list[str] = []
    waiting = [script]
    while waiting:
        name = waiting.pop(0)
        if name in found:
            continue
        found.append(name)
        text = (settings.BASE_DIR / "static" / "js" / name).read_text()
        waiting += [_beside(name, imported) for imported in IMPORTED.findall(text)]
    return [static(f"js/{name}") for name in found]


def _beside(name: str, imported: str) -> str:
    """`imported` as `name` says it, below static/js."""
    parts = list(PurePosixPath(name).parent.parts)
    for part in PurePosixPath(imported).parts:
        if part == "..":
            parts.pop()
        else:
            parts.append(part)
    return "/".join(parts)
