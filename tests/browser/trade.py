"""The words of the trade for browser tests: forms filled by their fields, sheets by the item in hand."""

import io
import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from PIL import Image
from playwright.sync_api import Locator, Page, expect
from pypdf import PdfReader

Item = Mapping[str, Any]
Answer = Callable[[Item], str]


# What is read beside a figure, by its unit: a coil as warm as the shop, a lead, the dwell at idle.
BESIDE = {"°C": "20", "m": "0.8", "distributor °": "54"}


class Bench:
    """A tablet in somebody's hands."""

    # As what gestures are counted while it is set (tests/bench/gestures.py): what no job needs is counted apart.
    counted_as = ""

    def __init__(self, page: Page) -> None:
        self.page = page
        page.clock.install()

    @contextmanager
    def apart(self, words: str) -> Iterator[None]:
        """What is looked at out of curiosity, and not as a part of the job."""
        Bench.counted_as = words
        yield
        Bench.counted_as = ""

    def go(self, path: str) -> None:
        self.page.goto(path)

    def tap(self, words: str) -> None:
        """The button or the link of these words."""
        either = self.page.get_by_role("button", name=words, exact=True)
        either = either.or_(self.page.get_by_role("link", name=words, exact=True))
        # Where the next action only leads to it on the same page, it is the thing itself that is meant.
        itself = either.and_(self.page.locator(":not(.next-action *)"))
        meant = (itself if itself.count() else either).first
        with self.page.expect_navigation():
            meant.tap()

    def onward(self, words: str) -> None:
        """The way on that stands in the dock once the workshop computer has the last entry of the sheet."""
        way = self.dock.get_by_role("button", name=words, exact=True)
        way = way.or_(self.dock.get_by_role("link", name=words, exact=True))
        expect(way).to_be_visible()
        self._settled()
        with self.page.expect_navigation():
            way.tap()

    def fill(self, button: str, within: str = "main", **written: Any) -> None:
        """Fill the form in the part `within` of the page whose button says `button`, field by field, and press it."""
        form = self.form(button, within)
        for name, value in written.items():
            self._write(form, name, value)
        pressed = form.get_by_role("button", name=button, exact=True)
        pressed.scroll_into_view_if_needed()
        if form.get_attribute("data-reading") is not None:
            pressed.tap()
            self.all_sent()
        elif form.get_attribute("hx-post"):
            with self.page.expect_response(lambda answer: answer.request.method == "POST"):
                pressed.tap()
        else:
            with self.page.expect_navigation():
                pressed.tap()

    def all_sent(self) -> None:
        """What was entered through the tablet's queue stands in the record, and on the page."""
        expect(self.page.locator("[data-status]")).to_have_text("all sent")
        expect(self.page.locator("[data-not-sent] li")).to_have_count(0)

    def note(self, felt: str, **place: Any) -> None:
        """One tap on what was felt, and then where on the map it was."""
        self.page.get_by_role("button", name=felt, exact=True).tap()
        placing = self.page.locator("form[data-placing]")
        for name, value in place.items():
            placing.locator(f"[name=place-{name}]").fill(str(value))
        placing.get_by_role("button", name="Save place").tap()
        self.all_sent()

    def form(self, button: str, within: str = "main") -> Locator:
        form = self.page.locator(within).locator(
            "form", has=self.page.get_by_role("button", name=button, exact=True, include_hidden=True)
        )
        form = form.first
        folded = form.locator("xpath=ancestor::details[not(@open)]")
        if folded.count():  # a part of the page that is folded is opened as a person does
            folded.locator("summary").first.tap()
        return form

    def _write(self, form: Locator, name: str, value: Any) -> None:
        fields = form.locator(f'[name="{name}"], [name$="-{name}"]')
        field = fields.first
        match field.evaluate("(field) => field.type || field.tagName"):
            case "select-one":
                if field.input_value() != str(value):
                    field.select_option(str(value))
            case "radio":
                form.locator(f'[name="{name}"][value="{value}"], [name$="-{name}"][value="{value}"]').check()
            case "checkbox":
                for wanted in [value] if isinstance(value, bool) else value:
                    (field if wanted is True else form.locator(f'[name="{name}"][value="{wanted}"]')).check()
            case _:
                if not _says_the_same(field.input_value(), str(value)):
                    field.fill(str(value))

    def text_of_paper(self, link: str) -> str:
        """What stands on the paper behind the link of these words, read as a customer's reader would."""
        opened = self.page.request.get(self.page.get_by_role("link", name=link).get_attribute("href"))
        assert opened.headers["content-type"] == "application/pdf"
        pages = PdfReader(io.BytesIO(opened.body())).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    def reads(self, *sentences: str) -> None:
        for sentence in sentences:
            expect(self.page.locator("main")).to_contain_text(sentence)

    def hand_over_to(self, name: str, pin: str) -> None:
        """Another person takes over the bench by PIN and comes back to the same page."""
        here = self.page.url
        self.tap("Switch person")
        self.page.get_by_label(name, exact=True).check()
        self.fill("Switch to me", pin=pin)
        if self.page.url != here:
            self.go(here)
        expect(self.page.get_by_role("banner")).to_contain_text(name)

    def fill_sheet(
        self,
        answer: Answer,
        hand_on: Callable[[], None],
        readings: dict[str, Callable[[], None]] | None = None,
        *,
        alone: bool = False,
    ) -> int:
        """Deal with the item in hand until none is left; `hand_on` fetches the other person where one is wanted.

        `readings` are taken, by the key of the item that reads them, on the page that it leads to. What the inspection
        answered is confirmed. Whoever is `alone` has done the second check when `hand_on` is over.
        """
        entries = 0
        self.readings = readings or {}
        while True:
            self._opened()
            entries += self._work_off(answer)
            if "Sheet complete" in self.dock.inner_text():
                return entries
            expect(self.dock).to_contain_text("second check needed")
            hand_on()
            self._opened()
            if not alone:
                self._seconded()

    @property
    def dock(self) -> Locator:
        return self.page.locator("[data-dock]")

    def _opened(self) -> None:
        expect(self.page.locator("[data-sheet][data-live]")).to_be_attached()

    def _work_off(self, answer: Answer) -> int:
        told = json.loads(self.page.locator("#sheet-data").text_content())["items"]
        items = {item["text"]: item for item in told}
        self.items = {item["key"]: item for item in told}
        entries = 0
        while self.dock.get_by_role("heading").count():
            if self.dock.get_by_role("button", name="Second check").count():
                self._seconded()
                continue
            item = items[self.dock.get_by_role("heading").inner_text()]
            self._settled()
            if item["kind"] == "reading":
                self._read(item)
                continue
            confirm = self.dock.get_by_role("button", name="Confirm: still so", exact=True)
            looks = self.dock.locator("[data-looks] button")
            if looks.count() and (confirm.count() or item["kind"] == "tick" or answer(item) == item["look"]):
                looks.tap()
            elif confirm.count():
                confirm.tap()
            else:
                self._enter(item, answer)
            entries += 1
            self._next_comes_after(item)
        expect(self.page.locator("[data-status]")).to_contain_text("all sent")
        return entries

    def _enter(self, item: Item, answer: Answer) -> None:
        value = "" if item["kind"] in ("tick", "photo") else answer(item)
        match item["kind"]:
            case "tick":
                self.dock.get_by_role("button", name="Tick: done").tap()
            case "measure":
                self.dock.locator(".dock-figure input").first.fill(value)
                if item["beside"]:
                    self.dock.locator(".dock-beside input").first.fill(BESIDE[item["beside"]["unit"]])
                self._write_others(answer)
                self.dock.get_by_role("button", name="Save", exact=True).tap()
            case "choice":
                self.dock.get_by_role("button", name=value, exact=True).tap()
            case "photo":
                self.dock.locator("input[type=file]").first.set_input_files(photograph())
            case _ if self.dock.get_by_role("button", name=usual_spelling(value), exact=True).count():
                self.dock.get_by_role("button", name=usual_spelling(value), exact=True).tap()
            case _:
                self.dock.locator(".dock-text input").first.fill(value)
                self._write_others(answer)
                self.dock.get_by_role("button", name="Save", exact=True).tap()

    def _write_others(self, answer: Answer) -> None:
        """What else of the section is typed, each in its own box, saved with the one in hand."""
        for also in self.dock.locator("[data-also]").all():
            if also.locator("input").first.is_enabled():
                self._write_also(also, answer)

    def _write_also(self, also: Locator, answer: Answer) -> None:
        item = self.items[also.get_attribute("data-also")]
        also.locator("input").first.fill(answer(item))
        if item["beside"]:
            also.locator(".dock-beside input").fill(BESIDE[item["beside"]["unit"]])

    def _read(self, item: Item) -> None:
        """Go where the readings are taken, take them, and come back to the sheet."""
        here = self.page.url
        self.dock.get_by_role("link").first.tap()
        self.page.wait_for_url(lambda url: url != here)
        self.readings[item["key"]]()
        self.page.wait_for_url(lambda url: url.partition("#")[0] == here.partition("#")[0])
        self._opened()
        self._next_comes_after(item)

    def _seconded(self) -> None:
        heading = self.dock.get_by_role("heading").inner_text()
        self._settled()
        self.dock.get_by_role("button", name="Second check").first.tap()
        self._next_comes_after({"text": heading})

    def _settled(self) -> None:
        """An item that has just come up takes no tap for a moment; over a hundred of them nobody waits here."""
        self.page.clock.fast_forward(500)
        expect(self.page.locator("[data-dock][data-ready]")).to_be_visible()

    def _next_comes_after(self, item: Item) -> None:
        expect(self.dock.get_by_role("heading", name=item["text"], exact=True)).to_have_count(0)


def usual_spelling(typed: str) -> str:
    """A firing order as the sheet offers it."""
    return "-".join(typed)


def _says_the_same(there: str, wanted: str) -> bool:
    """Whether a box holds already what is to be written in it: nobody types a figure that stands there."""
    try:
        return float(there) == float(wanted)
    except ValueError:
        return there == wanted


def photograph() -> dict[str, Any]:
    file = io.BytesIO()
    Image.new("RGB", (64, 48), "#7a7a70").save(file, "JPEG")
    return {"name": "bay.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}
