"""Static files as a workshop's computer serves them: under names that carry their hash."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders

from garage.site.hashed_static import HashedStaticFiles
from jobs.checklists import scripts

HASHED = re.compile(r"^.+\.[0-9a-f]{12}\.(js|css)$")
# As a browser reads them: `import … from "./x.js"`, `export … from`, `import "./x.js"`, `import("./x.js")`.
IMPORTED = re.compile(r"""(?:\bfrom\s*|\bimport\s*\(?\s*)["']([./][^"']+\.js)["']""")


@pytest.fixture(scope="module")
def collected(tmp_path_factory) -> HashedStaticFiles:
    folder = tmp_path_factory.mktemp("static")
    storage = HashedStaticFiles(location=folder, base_url=settings.STATIC_URL)
    found = {}
    for finder in finders.get_finders():
        for name, source in finder.list([]):
            with source.open(name) as opened:
                storage._save(name, opened)
            found[name] = (storage, name)
    for name, _, done in storage.post_process(found):
        assert done is True or done is False, f"{name}: {done}"
    return storage


def test_modules_import_one_another_by_the_names_that_pages_give_them(collected):
    """No module is fetched twice under two names, and none under a name that has to be asked for again."""
    final, seen = set(collected.hashed_files.values()), 0
    for name, hashed in collected.hashed_files.items():
        if not name.startswith("js/") or not name.endswith(".js"):
            continue
        text = Path(collected.path(hashed)).read_text()
        for imported in IMPORTED.findall(text):
            named = (Path("/") / Path(hashed).parent / imported).resolve().relative_to("/").as_posix()
            assert HASHED.match(named), f"{name} imports {imported}"
            assert named in final, f"{name} imports {imported}, which is no file of this release"
            seen += 1
    assert seen > 50


def test_a_page_asks_ahead_for_its_modules_under_the_names_they_are_imported_by(collected, monkeypatch):
    monkeypatch.setattr("django.contrib.staticfiles.storage.staticfiles_storage", collected)
    asked_for = scripts._modules_of.__wrapped__("fitting/sheet.js")
    assert len(asked_for) > 10
    assert {url.removeprefix(settings.STATIC_URL) for url in asked_for} <= set(collected.hashed_files.values())


def test_a_script_that_no_module_was_found_for_would_be_said(collected, tmp_path):
    storage = HashedStaticFiles(location=tmp_path, base_url=settings.STATIC_URL)
    (tmp_path / "js").mkdir()
    (tmp_path / "js/lost.js").write_text('import { gone } from "./gone.js";\n')
    said = [done for _, _, done in storage.post_process({"js/lost.js": (storage, "js/lost.js")})]
    assert any("gone.js" in str(one) for one in said)
