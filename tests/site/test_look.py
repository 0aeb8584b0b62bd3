"""The tokens can be read in every light, and the fragments say what they promise."""

import json
import re

import pytest
from django import forms
from django.template import Context, Template, TemplateSyntaxError
from django.template.loader import render_to_string

from tests.site.tokens import DARK_BY_CHOICE, DARK_BY_DEVICE, LIGHT, ROOT, SCHEMES, TOKENS, contrast, luminance

GROUNDS = ["paper", "sheet", "marking-wash", "stop-wash", "caution-wash", "good-wash"]
TEXT_ON_GROUND = [(text, ground) for text in ("ink", "pencil", "marking") for ground in GROUNDS] + [
    (state, ground)
    for state in ("stop", "caution", "good")
    for ground in ("paper", "sheet", "marking-wash", f"{state}-wash")
]


def drawn(source: str, **context: object) -> str:
    return Template("{% load look %}" + source).render(Context(context))


class TestContrast:
    @pytest.mark.parametrize(
        ("one", "other", "expected", "source"),
        [
            ("#000000", "#FFFFFF", 21.0, "WCAG 2.2: the ratio runs from 1 to 21"),
            ("#FFFFFF", "#FFFFFF", 1.0, "WCAG 2.2: the ratio runs from 1 to 21"),
            ("#767676", "#FFFFFF", 4.54, "widely printed as the lightest grey for text on white; from memory"),
            ("#777777", "#FFFFFF", 4.48, "widely printed as just too light for text on white; from memory"),
        ],
    )
    def test_contrast_is_reckoned_as_the_standard_does(self, one, other, expected, source):
        assert contrast(one, other) == pytest.approx(expected, abs=0.005), source

    @pytest.mark.parametrize("scheme", SCHEMES)
    @pytest.mark.parametrize(("text", "ground"), TEXT_ON_GROUND)
    def test_text_reaches_four_and_a_half_to_one(self, scheme, text, ground):
        tokens = SCHEMES[scheme]
        assert contrast(tokens[text], tokens[ground]) >= 4.5, "WCAG 2.2, 1.4.3"

    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_words_on_the_next_action_reach_four_and_a_half_to_one(self, scheme):
        tokens = SCHEMES[scheme]
        assert contrast(tokens["on-marking"], tokens["marking"]) >= 4.5, "WCAG 2.2, 1.4.3"

    @pytest.mark.parametrize("scheme", SCHEMES)
    @pytest.mark.parametrize("state", ["stop", "caution", "ink"])
    def test_a_letter_cut_into_its_mark_reaches_four_and_a_half_to_one(self, scheme, state):
        tokens = SCHEMES[scheme]
        assert contrast(tokens["sheet"], tokens[state]) >= 4.5, "WCAG 2.2, 1.4.3"

    @pytest.mark.parametrize("scheme", SCHEMES)
    @pytest.mark.parametrize("ground", GROUNDS)
    def test_the_edge_of_a_field_reaches_three_to_one(self, scheme, ground):
        tokens = SCHEMES[scheme]
        assert contrast(tokens["edge"], tokens[ground]) >= 3, "WCAG 2.2, 1.4.11"

    @pytest.mark.parametrize("scheme", SCHEMES)
    @pytest.mark.parametrize("level", range(9))
    def test_the_figure_in_a_cell_of_the_surface_can_be_read(self, scheme, level):
        tokens = SCHEMES[scheme]
        text = tokens["ink"] if level <= 5 else tokens["on-marking"]
        assert contrast(text, tokens[f"level-{level}"]) >= 4.5, "WCAG 2.2, 1.4.3"

    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_the_levels_of_the_surface_run_one_way_and_end_in_marking_blue(self, scheme):
        tokens = SCHEMES[scheme]
        lightness = [luminance(tokens[f"level-{level}"]) for level in range(9)]
        assert lightness in (sorted(lightness), sorted(lightness, reverse=True))
        assert len(set(lightness)) == 9
        assert tokens["level-8"] == tokens["marking"]

    def test_dark_is_the_same_whether_the_device_or_the_person_chose_it(self):
        assert DARK_BY_DEVICE == DARK_BY_CHOICE

    def test_dark_states_every_colour_of_light_anew(self):
        colours = {name for name, value in LIGHT.items() if value.startswith("#")}
        assert set(DARK_BY_CHOICE) == colours


class TestStylesheets:
    SHEETS = sorted((ROOT / "static" / "css").rglob("*.css"))
    PAPER = ("sheet.css", "label.css", "bill.css", "tape.css", "blank.css", "bench.css", "customer.css", "restore.css")

    def test_a_colour_is_stated_in_the_tokens_and_for_paper_only(self):
        named = re.compile(r"#[0-9a-fA-F]{3,8}\b(?![^{]*\{)|\b(?:rgb|hsl|oklch)a?\(")
        for sheet in self.SHEETS:
            if sheet.name in ("tokens.css", "print.css", *self.PAPER):
                continue
            declarations = re.findall(r":\s*[^;{}]+;", re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL))
            strays = [line for line in declarations if named.search(line)]
            assert not strays, f"{sheet.name} states a colour of its own"

    @pytest.mark.parametrize("forbidden", ["gradient(", "box-shadow", "text-shadow", "@import", "http:", "https:"])
    def test_nothing_glows_and_nothing_is_fetched_from_outside(self, forbidden):
        assert [sheet.name for sheet in self.SHEETS if forbidden in sheet.read_text()] == []

    def test_targets_for_a_finger_are_48_px(self):
        coarse = re.search(r"@media \(pointer: coarse\) \{\s*:root \{\s*--target: (\d+)px;", TOKENS.read_text())
        assert coarse
        assert int(coarse[1]) >= 48


class TestFigure:
    def test_nought_is_a_figure(self):
        assert ">0<" in drawn('{% figure "Advance" 0 "rpm" %}')

    @pytest.mark.parametrize("nothing", [None, ""])
    def test_what_was_not_measured_says_so_and_shows_no_unit(self, nothing):
        html = drawn('{% figure "Rod length" value "mm" %}', value=nothing)
        assert "not measured" in html
        assert "mm" not in html

    def test_the_degree_sign_stays_with_its_figure(self):
        html = drawn('{% figure "Base timing" 8 "° BTDC" %}')
        assert "8°</span>" in html
        assert re.search(r'class="unit">(&nbsp;)?BTDC<', html)

    def test_a_temperature_keeps_its_distance(self):
        assert re.search(r'20</span><span class="unit">&nbsp;°C<', drawn('{% figure "Coil" 20 "°C" %}'))

    def test_it_says_where_the_figure_comes_from(self):
        assert "strobe, 8 readings" in drawn('{% figure "Base" 8 "°" "strobe, 8 readings" %}')

    def test_words_of_a_person_cannot_become_markup(self):
        html = drawn('{% figure "Note" value "" origin %}', value="<b>", origin="<script>")
        assert "<b>" not in html
        assert "<script>" not in html


class TestMarks:
    @pytest.mark.parametrize("kind", ["stop", "caution", "good", "note", "hold", "abandoned", "open"])
    def test_a_state_is_a_mark_and_a_word(self, kind):
        html = drawn('{% state kind "as read" %}', kind=kind)
        assert "<svg" in html
        assert 'aria-hidden="true"' in html
        assert ">as read<" in html

    def test_every_kind_is_drawn_differently(self):
        kinds = ("stop", "caution", "good", "note", "hold", "abandoned", "open")
        drawings = {re.sub(r"tone-\w+", "", drawn("{% mark kind %}", kind=kind)) for kind in kinds}
        assert len(drawings) == 7

    def test_an_unknown_mark_is_refused_with_the_known_ones(self):
        with pytest.raises(TemplateSyntaxError, match=r"'fine'.*abandoned, caution, good"):
            drawn('{% mark "fine" %}')

    def test_a_message_wears_the_mark_of_its_level(self):
        assert drawn('{% mark "error" %}') == drawn('{% mark "stop" %}')

    def test_a_mark_without_a_word_beside_it_has_a_name(self):
        assert 'role="img" aria-label="one caution"' in drawn('{% mark "caution" title="one caution" %}')


def stage(label: str, state: str, **more: object) -> dict[str, object]:
    return {"key": label.lower(), "label": label, "state": state, **more}


class TestScale:
    STAGES = [
        stage("Inspection", "done", steps_done=12, steps_total=12, url="/i/"),
        stage("Fitting", "current", steps_done=7, steps_total=20, url="/f/"),
        stage("Map", "ahead", steps_total=5),
    ]

    def test_only_the_current_stage_is_the_current_step(self):
        html = drawn("{% scale stages %}", stages=self.STAGES)
        assert html.count('aria-current="step"') == 1
        assert re.search(r'href="/f/"[^>]*aria-current="step"', html)

    def test_the_ink_reaches_as_far_as_the_work(self):
        html = drawn("{% scale stages %}", stages=self.STAGES)
        assert re.findall(r'class="scale-ink" x1="0" x2="([^"]+)"', html) == ["100%", "35%"]

    def test_there_is_a_short_graduation_between_any_two_steps(self):
        html = drawn("{% scale stages %}", stages=[stage("Map", "ahead", steps_total=5)])
        assert re.findall(r'x1="([\d.]+%)"', html) == ["20%", "40%", "60%", "80%"]

    def test_a_stage_whose_steps_nobody_counted_is_divided_in_quarters(self):
        html = drawn("{% scale stages %}", stages=[stage("Map", "current")])
        assert re.findall(r'x1="([\d.]+%)"', html)[:3] == ["25%", "50%", "75%"]
        assert "scale-count" not in html

    def test_the_count_is_written_beside_the_current_stage_alone(self):
        html = drawn("{% scale stages %}", stages=self.STAGES)
        assert re.findall(r"\d+ of \d+", html) == ["7 of 20"]

    def test_states_are_said_in_words_too(self):
        html = drawn("{% scale stages %}", stages=[*self.STAGES, stage("Handover", "skipped")])
        for word in ("done", "now", "ahead", "overridden"):
            assert f"({word})</span>" in html

    def test_a_state_it_does_not_know_is_refused(self):
        with pytest.raises(TemplateSyntaxError, match="Map says 'soon'"):
            drawn("{% scale stages %}", stages=[stage("Map", "soon")])

    def test_the_small_scale_says_where_the_work_is(self):
        html = drawn("{% scale_small stages %}", stages=self.STAGES)
        assert "Fitting, 7 of 20" in html
        # one whole stage and seven twentieths of the second, out of three
        assert 'class="scale-ink" x1="0" x2="45%"' in html

    def test_a_job_that_is_over_says_so(self):
        assert "All stages done" in drawn("{% scale_small stages %}", stages=[stage("Map", "done")])


class MeasureForm(forms.Form):
    ratio = forms.FloatField(min_value=4, max_value=20, help_text="As the plate says.")
    note = forms.CharField(required=False)
    ratio.unit = "to 1"


class TestField:
    def test_a_refused_figure_comes_back_as_it_was_typed(self):
        html = drawn("{% field form.ratio %}", form=MeasureForm({"ratio": "nine"}))
        assert 'value="nine"' in html
        assert 'type="number"' not in html, "a number input would drop what it cannot read"

    @pytest.mark.parametrize(("stored", "shown"), [(9.0, "9"), (8.5, "8.5"), (8.123456789, "8.123456789")])
    def test_a_stored_figure_stands_in_its_box_as_people_write_it(self, stored, shown):
        html = drawn("{% field form.ratio %}", form=MeasureForm(initial={"ratio": stored}))
        assert f'value="{shown}"' in html

    def test_the_reason_stands_beside_the_field_and_is_tied_to_it(self):
        html = drawn("{% field form.ratio %}", form=MeasureForm({"ratio": "95"}))
        tied = re.search(r'aria-describedby="([^"]+)"', html)
        assert tied
        for part in ("id_ratio_helptext", "id_ratio_error", "id_ratio_unit"):
            assert part in tied[1].split()
            assert f'id="{part}"' in html
        assert 'role="alert"' in html
        assert 'aria-invalid="true"' in html

    def test_a_figure_opens_the_number_pad(self):
        assert 'inputmode="decimal"' in drawn("{% field form.ratio %}", form=MeasureForm())

    def test_the_unit_stands_beside_the_figure(self):
        assert re.search(r'class="field-unit"[^>]*>to 1<', drawn("{% field form.ratio %}", form=MeasureForm()))

    def test_what_must_be_filled_in_is_named_where_not_everything_must(self):
        html = drawn("{% fields form %}", form=MeasureForm())
        assert html.count(">needed<") == 1

    def test_the_summary_leads_to_each_refused_field(self):
        html = drawn("{% error_summary form %}{% fields form %}", form=MeasureForm({"ratio": "95"}))
        for target in re.findall(r'href="#([^"]+)"', html):
            assert f'id="{target}"' in html
        assert html.count('href="#') == 1

    def test_nothing_is_summed_up_before_anything_was_sent(self):
        assert drawn("{% error_summary form %}", form=MeasureForm()).strip() == ""


class TestFrame:
    def test_htmx_is_told_to_live_under_the_policy(self):
        page = (ROOT / "templates" / "base.html").read_text(encoding="utf-8")
        told = json.loads(re.search(r"name=\"htmx-config\"\s+content='([^']+)'", page)[1])
        assert not any(told[name] for name in ("allowEval", "allowScriptTags", "includeIndicatorStyles"))
        # a history in the browser's storage would outlive a sign-out on a shared tablet
        assert told["historyCacheSize"] == 0
        swaps = {rule["code"]: rule["swap"] for rule in told["responseHandling"]}
        assert swaps["422"], "a refused form must come back filled in"

    def test_what_the_policy_takes_from_htmx_is_in_our_own_stylesheet(self):
        assert ".htmx-request .htmx-indicator" in (ROOT / "static" / "css" / "base.css").read_text(encoding="utf-8")

    def test_a_stranger_to_the_house_sees_no_rooms_and_no_search(self, client, workshop):
        page = client.get("/sign-in/").content.decode()
        assert "Crankmark" in page
        assert 'aria-label="Rooms"' not in page
        assert 'role="search"' not in page

    def test_a_signed_in_person_can_search_switch_and_sign_out(self, browser_of, mechanic):
        page = browser_of(mechanic).get("/").content.decode()
        assert mechanic.name in page
        assert 'role="search"' in page
        assert re.search(r'<form method="post" action="/sign-out/"', page), "signing out changes something: a POST"

    def test_messages_wear_a_mark_and_are_announced(self):
        html = drawn(
            '{% include "_messages.html" with oob=True %}',
            messages=[{"level_tag": "error"}, {"level_tag": "success"}],
        )
        assert 'role="status"' in html
        assert 'hx-swap-oob="true"' in html
        assert "tone-stop" in html
        assert "tone-good" in html

    def test_a_page_that_asks_before_a_deed_offers_to_change_nothing(self, rf):
        request = rf.get("/")
        html = render_to_string(
            "confirm.html",
            {"title": "Abandon job", "action": "Abandon job", "back_url": "/jobs/26-0001/"},
            request,
        )
        assert re.search(r'href="/jobs/26-0001/">Cancel', html)
        assert re.search(r'type="submit">Abandon job', html)

    def test_a_place_that_does_not_exist_is_left_out_quietly(self):
        assert drawn('{% place "nowhere:at-all" as url %}[{{ url }}]') == "[]"

    def test_a_table_can_be_scrolled_by_keys(self):
        html = drawn('{% table_frame "Nodes" %}<table></table>{% endtable_frame %}')
        assert 'tabindex="0"' in html
        assert 'aria-label="Nodes"' in html

    def test_a_hold_point_says_what_must_be_true_and_what_comes_then(self):
        html = drawn('{% hold_line words="then read back" %}Locked.{% endhold_line %}')
        assert "Locked." in html
        assert "then read back" in html
        assert "Hold point" in html


@pytest.mark.parametrize("code", ["400", "403", "403_csrf", "404", "429", "500"])
class TestErrorPages:
    def page(self, code: str) -> str:
        return Template(f'{{% include "errors/{code}.html" %}}').render(Context({}))

    def test_it_stands_without_any_context_and_offers_a_way_back(self, code):
        assert 'href="/"' in self.page(code)

    def test_it_does_not_talk_about_the_machinery(self, code):
        words = re.sub(r"<[^>]+>", " ", self.page(code))
        for word in ("Django", "Traceback", "exception", "CSRF", "token", "server", "Python"):
            assert word.lower() not in words.lower()


@pytest.mark.parametrize(
    ("written", "dialled", "source"),
    [
        ("01632 960142", "01632960142", "RFC 3966, 5.1.1: blanks and strokes are for the eye"),
        ("+1-201-555-0123", "+12015550123", "RFC 3966, 6, its own example"),
        ("(01632) 960-142", "01632960142", "RFC 3966, 5.1.1"),
        ("+44 (0)1632 960142", "+441632960142", "ITU-T E.123, 7.1: the nought is not dialled from abroad; from memory"),
        ("01632 960142, after six", "01632960142", "words are not dialled"),
        ("01632 960142 / 07700 900123", "01632960142", "the first of two"),
    ],
)
def test_a_number_is_dialled_as_it_is_meant_and_shown_as_it_is_written(written, dialled, source):
    shown = drawn("{{ number|phone_link }}", number=written)
    assert f'href="tel:{dialled}"' in shown, source
    assert f">{written}</a>" in shown


@pytest.mark.parametrize("written", ["", "ask Wilf", "<b>12</b>"])
def test_what_is_no_number_stays_words(written):
    shown = drawn("{{ number|phone_link }}", number=written)
    assert "href" not in shown
    assert "<b>" not in shown


def test_an_email_can_be_tapped_and_is_parted_at_its_at_sign_alone():
    shown = drawn("{{ address|email_link }}", address="constance@example.org")
    assert shown == '<a href="mailto:constance@example.org">constance<wbr>@example.org</a>'
