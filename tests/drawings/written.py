"""Drawings as a page writes them down, without a server."""

from collections.abc import Sequence
from pathlib import Path

from jinja2 import Environment
from markupsafe import Markup

from meetapp.web.render import make_templates

ROOT = Path(__file__).parents[2]
STYLES = "\n".join((ROOT / "static" / name).read_text() for name in ("app.css", "drawings.css"))
PAGE = (
    '<!doctype html><html lang="en"><head><title>Drawing</title>'
    '<meta name="viewport" content="width=device-width, initial-scale=1"><style>{{ styles }}</style></head>'
    '<body><main class="page page-wide"><h1>Drawing</h1>%s</main></body></html>'
)


def templates() -> Environment:
    """The pages' own environment."""
    return make_templates(ROOT / "templates")


def written(call: str, **names: object) -> str:
    """What a macro of the drawings writes: written("air(facts, 'x')", facts=...)."""
    macro = call.split("(")[0]
    return templates().from_string(f'{{% from "_drawings.html" import {macro} %}}{{{{ {call} }}}}').render(**names)


def page_with(call: str, **names: object) -> str:
    """A whole page with the program's styles and what a macro writes."""
    return page_of([written(call, **names)])


def page_of(pieces: Sequence[str]) -> str:
    """A whole page with several pieces that macros wrote, in an article each."""
    body = Markup("".join(f"<article>{piece}</article>" for piece in pieces))
    return templates().from_string(PAGE % "{{ body }}").render(styles=Markup(STYLES), body=body)
