"""What papers cost: against plain text of the same length, in memory, and for those who tick meanwhile.

Fills the demo in a folder of its own and measures, side by side in one run:

- each paper of a car against WeasyPrint's own time for plain text of the same words on the same pages;
- the memory of a bench record with 60 photographs, of the process that asks for it and of the worker that sets it;
- how long an entry on a sheet takes while nobody sets a paper, while the same process does, and while the worker does.

Run: python -m tests.bench.bench_papers [--photographs 60] [--rounds 5]
"""

import argparse
import gc
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from datetime import datetime
from functools import partial
from io import BytesIO
from pathlib import Path
from uuid import uuid4

HERE = Path(__file__).resolve().parents[2]
PLAIN_STYLE = (
    "@page { size: A4; margin: 20mm } html { font: 9.5pt DejaVu Sans }"
    " .page { break-after: page } .page:last-child { break-after: auto }"
)
WORDS_A_PARAGRAPH = 60
TICKS = 60


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--photographs", type=int, default=60)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--in", dest="folder", help=argparse.SUPPRESS)
    parser.add_argument("--memory", choices=["before", "apart"], help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.folder is None:
        with tempfile.TemporaryDirectory(prefix="crankmark-papers-") as folder:
            _in_folder(folder, options)
        return
    import django

    django.setup()
    if options.memory:
        _memory(options.memory)
        return
    _against_plain_text(options.rounds)
    _take_photographs(options.photographs)
    for apart in ("before", "apart"):
        subprocess.run(_command(options.folder, "--memory", apart), check=True, cwd=HERE)
    _ticks_meanwhile()


def _in_folder(folder: str, options: argparse.Namespace) -> None:
    environment = {
        **os.environ, "CRANKMARK_DATA": f"{folder}/book", "DJANGO_SETTINGS_MODULE": "garage.site.settings",
        "PYTHONPATH": str(HERE),
    }  # fmt: skip
    prepare = [sys.executable, "manage.py", "demo", "--prepare-only"]
    subprocess.run(prepare, check=True, cwd=HERE, env=environment, stdout=subprocess.DEVNULL)
    more = ["--photographs", str(options.photographs), "--rounds", str(options.rounds)]
    subprocess.run(_command(folder, *more), check=True, cwd=HERE, env=environment)


def _command(folder: str, *more: str) -> list[str]:
    return [sys.executable, "-m", "tests.bench.bench_papers", "--in", folder, *more]


def _job():
    from jobs.documents.models import IssuedDocument

    return IssuedDocument.objects.first().job


def _facts():
    """All that a paper says of the demo's car that was handed over."""
    from django.utils import timezone

    from jobs.documents.document_data import document_data
    from jobs.handover.queries import current_sign_off, sign_off_data

    job = _job()
    facts = document_data(job, sign_off_data(current_sign_off(job)), timezone.now())
    return facts | {"number": 1, "issued_by": "Rowan Vale"}


def _best(rounds: int, *works: Callable[[], object]) -> list[float]:
    """The best time of each of `works`, done in turns, in seconds; nothing is collected meanwhile, as in the worker."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for place, work in enumerate(works):
            gc.collect()
            gc.disable()
            began = time.process_time()
            work()
            best[place] = min(best[place], time.process_time() - began)
            gc.enable()
    return best


def _against_plain_text(rounds: int) -> None:
    import pypdf
    from django.conf import settings

    from jobs.documents.models import DocumentKind
    from jobs.documents.setting import set_document
    from timing.sheets.pdf import pdf_from_html

    settings.PAPERS_SET_APART = False  # the time of the work itself, wherever it is done
    facts = _facts()
    created = datetime.fromisoformat(facts["made_at"])
    print(f"{'paper':<22} {'pages':>5} {'words':>6} {'kB':>6} {'s':>7} {'plain, s':>9} {'times':>6}")
    for kind in DocumentKind:
        made = set_document(kind, facts)
        pages = [page.extract_text().split() for page in pypdf.PdfReader(BytesIO(made)).pages]
        plain = _plain_page(pages)
        paper, text = _best(
            rounds,
            partial(set_document, kind, facts),
            partial(pdf_from_html, plain, stylesheet=PLAIN_STYLE, created=created),
        )
        words, kilobytes = sum(map(len, pages)), len(made) / 1024
        print(
            f"{kind:<22} {len(pages):>5} {words:>6} {kilobytes:>6.0f} {paper:>7.3f} {text:>9.3f} {paper / text:>6.1f}"
        )


def _plain_page(pages: list[list[str]]) -> str:
    def paragraphs(words: list[str]) -> str:
        starts = range(0, len(words), WORDS_A_PARAGRAPH)
        return "".join(f"<p>{' '.join(words[at : at + WORDS_A_PARAGRAPH])}</p>" for at in starts)

    body = "".join(f'<div class="page">{paragraphs(words)}</div>' for words in pages)
    return f'<!DOCTYPE html><html lang="en"><head><title>Plain</title></head><body>{body}</body></html>'


def _take_photographs(count: int) -> None:
    """Photographs as a telephone takes them, each another: noise is the hardest to pack."""
    import numpy as np
    from django.utils import timezone
    from PIL import Image

    from garage.people.models import Staff
    from garage.record.actor import Actor
    from jobs.checklists.actions import record_photograph
    from jobs.checklists.models import ItemKind, SheetKind
    from jobs.checklists.photographs import prepared
    from jobs.checklists.queries import sheet_record

    record = sheet_record(_job(), SheetKind.FITTING)
    item = record.revision.items.filter(kind=ItemKind.PHOTO).first()
    actor = Actor(person=Staff.objects.get(username="ines"), at=timezone.now(), device=None)
    entry = record.entries.filter(item__key=item.key).last()
    for seed in range(count):
        noise = np.random.default_rng(seed).integers(0, 255, (192, 256, 3), dtype=np.uint8)
        taken = BytesIO()
        Image.fromarray(noise).resize((4000, 3000)).save(taken, "JPEG", quality=85)
        taken.seek(0)
        record_photograph(
            sheet=record, key=item.key, id=uuid4(), entry_id=entry.pk, picture=prepared(taken), actor=actor
        )


def _memory(apart: str) -> None:
    """Set one bench record and say what it took; in a process of its own, for memory never shrinks."""
    from django.conf import settings

    from garage.papers.setting import _press
    from jobs.documents.models import DocumentKind
    from jobs.documents.setting import set_document

    settings.PAPERS_SET_APART = apart == "apart"
    facts = _facts()
    idle = _most_memory()
    made = set_document(DocumentKind.BENCH_RECORD, facts)
    worker = _most_memory(_press.pid) if _press.pid else 0
    print(
        f"bench record, {len(facts['photographs'])} photographs, {'worker' if apart == 'apart' else 'same process'}: "
        f"{len(made) / 1e6:.1f} MB; who asks {idle:.0f} → {_most_memory():.0f} MB, worker {worker:.0f} MB"
    )


def _most_memory(pid: int | str = "self") -> float:
    """The most that a process has had in memory since it began. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def _ticks_meanwhile() -> None:
    from django.conf import settings

    from jobs.documents.models import DocumentKind
    from jobs.documents.setting import set_document

    facts = _facts()
    settings.PAPERS_SET_APART = True
    set_document(DocumentKind.LABEL, facts)  # the worker has begun, as it has in a workshop after the first paper
    print(f"{'an entry while …':<34} {'median':>8} {'95 %':>8} {'worst':>8} [ms]   papers")
    for words, apart in (("no paper is set", None), ("the same process sets", False), ("the worker sets", True)) * 2:
        settings.PAPERS_SET_APART = bool(apart)
        ended, papers = threading.Event(), []

        def keep_setting(ended=ended, papers=papers) -> None:
            while not ended.is_set():
                papers.append(len(set_document(DocumentKind.BENCH_RECORD, facts)))

        setter = threading.Thread(target=keep_setting)
        if apart is not None:
            setter.start()
        times = sorted(_tick_times())
        ended.set()
        if apart is not None:
            setter.join()
        figures = [statistics.median(times), times[int(len(times) * 0.95)], times[-1]]
        print(f"{words:<34} " + " ".join(f"{figure * 1000:>8.1f}" for figure in figures) + f"        {len(papers)}")


def _tick_times() -> list[float]:
    """How long each of `TICKS` entries took, a tenth of a second apart."""
    from django.utils import timezone

    from garage.people.models import Staff
    from garage.record.actor import Actor
    from jobs.checklists.actions import record_entry
    from jobs.checklists.models import Outcome, SheetKind
    from jobs.checklists.queries import sheet_record

    record = sheet_record(_job(), SheetKind.FITTING)
    item = record.revision.items.first()
    person, times = Staff.objects.get(username="ines"), []
    for _ in range(TICKS):
        time.sleep(0.1)
        began = time.perf_counter()
        actor = Actor(person=person, at=timezone.now(), device=None)
        record_entry(sheet=record, key=item.key, id=uuid4(), actor=actor, outcome=Outcome.NOTED, note="heard again")
        times.append(time.perf_counter() - began)
    return times


if __name__ == "__main__":
    main()
