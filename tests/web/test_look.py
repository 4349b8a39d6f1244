"""What the look promises: readable in the sun, nothing inline or from elsewhere, fields tied to their words."""

import hashlib
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from meetapp.web.render import make_templates

ROOT = Path(__file__).parents[2]
CSS = (ROOT / "static" / "app.css").read_text()
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
CSS_BUDGET = 30_000


class _Elements(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def attrs_of(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.found if name == tag]

    def ids(self) -> set[str | None]:
        return {attrs["id"] for _name, attrs in self.found if "id" in attrs}


def _render(source: str, **names: object) -> str:
    return make_templates(ROOT / "templates").from_string(source).render(**names)


def _colours(scheme: str) -> dict[str, str]:
    blocks = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
    light, dark = (dict(re.findall(r"--([\w-]+): (#[0-9a-f]+);", block)) for block in blocks[:2])
    return light if scheme == "light" else light | dark


def _luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    """Contrast ratio. Source: WCAG 2.2, definition of contrast ratio."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_of_black_on_white_is_21():
    assert _contrast("#000", "#ffffff") == pytest.approx(21)  # WCAG 2.2: ratios range from 1 to 21


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("text", "ground", "least"),
    [
        # 7: WCAG 2.2 SC 1.4.6 (AAA text); 3: SC 1.4.11 (edges of controls)
        pytest.param("ink", "paper", 7, id="text"),
        pytest.param("ink", "panel", 7, id="text on a panel"),
        pytest.param("soft", "paper", 7, id="quiet text"),
        pytest.param("soft", "panel", 7, id="quiet text on a panel"),
        pytest.param("accent", "paper", 7, id="accent as text"),
        pytest.param("accent", "panel", 7, id="accent as text on a panel"),
        pytest.param("on-accent", "accent", 7, id="words on the main button"),
        pytest.param("on-accent", "accent-deep", 7, id="words on the main button under the pointer"),
        pytest.param("edge", "paper", 3, id="edges of fields"),
    ],
)
def test_colours_read_in_the_sun(scheme: str, text: str, ground: str, least: float):
    colours = _colours(scheme)
    assert _contrast(colours[text], colours[ground]) >= least


def test_the_style_sheet_stays_small():
    assert len(CSS.encode()) < CSS_BUDGET


def test_the_style_sheet_fetches_nothing():
    assert "url(" not in CSS
    assert "@import" not in CSS


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
@pytest.mark.parametrize(
    "forbidden",
    [
        pytest.param(r"\sstyle\s*=", id="style attribute"),
        pytest.param(r"<style", id="style element"),
        pytest.param(r"<script(?![^>]*\ssrc=)", id="inline script"),
        pytest.param(r"\son[a-z]+\s*=\s*[\"']", id="event attribute"),
        pytest.param(r"hx-on|hx-vals\s*=\s*[\"']js:", id="script in an htmx attribute"),
        pytest.param(r"\|\s*safe\b", id="escaping switched off"),
        pytest.param(r"(?:src|href|action)\s*=\s*[\"'](?:https?:)?//", id="address of another machine"),
    ],
)
def test_no_template_holds(template: Path, forbidden: str):
    text = re.sub(r"\{#.*?#\}", "", template.read_text(), flags=re.DOTALL)
    assert not re.search(forbidden, text), f"{template.name} holds {forbidden}"


@pytest.mark.parametrize("folder", ["static/vendor", "tests/vendor", "meetapp/paper/fonts"])
def test_vendored_files_are_the_ones_in_the_list(folder: str):
    listed = re.findall(r"\| `([\w.-]+)` \|.*?`([0-9a-f]{64})`", (ROOT / folder / "README.md").read_text())
    vendored = {path.name for path in (ROOT / folder).iterdir() if path.suffix in {".js", ".db", ".ttf"}}
    assert {name for name, _sum in listed} == vendored
    for name, checksum in listed:
        assert hashlib.sha256((ROOT / folder / name).read_bytes()).hexdigest() == checksum


FIELDS = {
    "text": 'text_field("Name", "name", value, error, hint)',
    "number": 'number_field("Pull", "name", value, "MHz", error, hint)',
    "long text": 'textarea("Words", "name", value, error, hint)',
    "choice": 'select_field("Site", "name", [("a", "A")], value, error, hint)',
    "boxes": 'checkboxes("Plans", "name", [("a", "A"), ("b", "B")], [value], error, hint)',
    "dots": 'radios("Desk", "name", [("a", "A"), ("b", "B")], value, error, hint)',
    "file": 'file_field("List", "name", error, hint)',
    "box": 'checkbox("Seen", "name", false, error, hint)',
}


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS.keys())
def test_a_wrong_field_is_tied_to_its_words_and_reached_from_the_summary(field: str):
    html = _render(
        '{% import "_parts.html" as parts %}{{ parts.error_summary({"name": error}) }}{{ parts.' + field + " }}",
        value="a",
        error="Give a name.",
        hint="What people call it.",
    )
    page = _Elements(html)
    (link,) = [attrs["href"] for attrs in page.attrs_of("a")]
    assert link == "#f-name"
    assert "f-name" in page.ids()
    described = [attrs["aria-describedby"] for _tag, attrs in page.found if "aria-describedby" in attrs]
    assert described
    assert "f-name-error" in str(described[0]).split()
    for tied in str(described[0]).split():
        assert tied in page.ids()
    assert html.count("Give a name.") == 2


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS.keys())
def test_a_field_without_error_or_hint_names_neither(field: str):
    html = _render('{% import "_parts.html" as parts %}{{ parts.' + field + " }}", value=None, error=None, hint=None)
    assert "aria-" not in html.replace('aria-hidden="true"', "")
    assert "None" not in html


def test_what_a_person_typed_is_escaped():
    html = _render(
        '{% import "_parts.html" as parts %}'
        '{{ parts.text_field("N", "n", x) }}{{ parts.action_row(x) }}{{ parts.tag(x, 1, x) }}',
        x='"><script>',
    )
    assert "<script>" not in html


def test_a_form_carries_both_its_keys():
    html = _render('{% from "_parts.html" import form_open %}{{ form_open("/x", "token", "key") }}</form>')
    hidden = {attrs["name"]: attrs["value"] for attrs in _Elements(html).attrs_of("input")}
    assert hidden == {"csrf_token": "token", "operation_key": "key"}


@pytest.mark.parametrize("state", ["in", "out", "missing", "withdrawn", "blocked"])
def test_a_token_says_its_state_in_words(state: str):
    html = _render('{% from "_parts.html" import tag %}{{ tag("R3", 5732, "K7", state, caption=true) }}', state=state)
    (drawing, _mark) = _Elements(html).attrs_of("svg")
    assert drawing["aria-label"] == f"Token R3, 5732 MHz, code K7, {state}"
    assert f"</svg>{state}</span>" in html


def test_a_token_without_a_plan_label_says_its_mhz_once():
    html = _render('{% from "_parts.html" import tag %}{{ tag("5732", 5732, "K7") }}')
    assert 'aria-label="Token 5732 MHz, code K7, in"' in html


def test_the_base_page_needs_no_more_than_a_viewer():
    html = _render('{% extends "base.html" %}', viewer={"role": "bystander", "name": "", "csrf_token": "t"})
    page = _Elements(html)
    (notices,) = [attrs for _tag, attrs in page.found if attrs.get("id") == "notices"]
    assert notices["role"] == "status"
    assert "alarms" in page.ids()
    assert "No power before you hold the token." in html


def test_a_running_alarm_and_an_undo_stand_on_every_page():
    html = _render(
        '{% extends "error.html" %}',
        viewer={"role": "marshal", "name": "Ilse", "csrf_token": "t"},
        title="Not here",
        message="There is no such page.",
        alarms=[{"kind": "down", "since": "14:32", "end_action": "/alarms/1/over", "operation_key": "a"}],
        notice={"text": "R3 is back from Ana.", "undo": {"action": "/undo/3", "operation_key": "b"}},
    )
    assert "Everybody down" in html
    actions = {attrs["action"] for attrs in _Elements(html).attrs_of("form")}
    assert actions == {"/alarms/1/over", "/undo/3"}
