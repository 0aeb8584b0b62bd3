"""Static files under names that carry their hash: each is fetched once and then kept for good by whoever reads it."""

from collections.abc import Iterator
from typing import Any

from whitenoise.storage import CompressedManifestStaticFilesStorage

# Scripts that come with a package, whose imports lead nowhere here and which no page names.
NOT_OURS = "django_htmx/ext/"


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Modules too import one another by their hashed names: a plain name would be asked for again every minute."""

    support_js_module_import_aggregation = True
    # A pass settles the names of one more layer of modules that import modules.
    max_post_process_passes = 20

    def post_process(self, paths: dict[str, Any], *args: Any, **options: Any) -> Iterator[tuple[str, str, bool]]:
        ours = {name: found for name, found in paths.items() if not name.startswith(NOT_OURS)}
        yield from super().post_process(ours, *args, **options)
