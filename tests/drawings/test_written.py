"""What the template makes of a drawing: named for screen readers, nothing unescaped, the same facts in tables."""

import re

import pytest
from bs4 import BeautifulSoup

from meetapp.drawings.shapes import Drawing, Part, Picture, Words, line
from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.carriers import Carrier
from tests.drawings.air_cases import CASES
from tests.drawings.written import STYLES, written


def soup_of(call: str, **names: object) -> BeautifulSoup:
    return BeautifulSoup(written(call, **names), "html.parser")


@pytest.mark.parametrize("facts", CASES.values(), ids=CASES.keys())
def test_a_drawing_is_named_and_described(facts: AirFacts) -> None:
    soup = soup_of("air(facts, 'air')", facts=facts)
    drawings = soup.find_all("svg", role="img")
    assert len(drawings) == 2
    for drawing in drawings:
        title, description = (
            soup.find(id=drawing[attribute]) for attribute in ("aria-labelledby", "aria-describedby")
        )
        assert title is not None
        assert description is not None
        assert (title.name, description.name) == ("title", "desc")
        assert title.parent is drawing
    ids = [tag["id"] for tag in soup.find_all(id=True)]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("facts", CASES.values(), ids=CASES.keys())
def test_every_word_of_the_picture_stands_in_the_tables_too(facts: AirFacts) -> None:
    soup = soup_of("air(facts, 'air')", facts=facts)
    table = " ".join(soup.select_one("details").get_text(" ").split())  # type: ignore[union-attr]
    for each in facts.carriers:
        low, high = each.carrier.edges_mhz
        for text in (str(each.carrier.mhz), each.named.name, each.named.who, f"{low:g} to {high:g}"):
            assert text in table
        if each.nearest is not None:
            assert f"{each.nearest.distance_mhz:g} MHz: " in table
    for product in facts.products:
        near = "" if product.distance_mhz is None else f" ({product.distance_mhz:g})"
        assert f"{product.mhz}{near}" in table
    for neighbour in facts.neighbours:
        assert f"{neighbour.label}: {neighbour.edges_mhz[0]:g} to {neighbour.edges_mhz[1]:g}" in table
    for segment in facts.segments:
        assert segment.text in table


def test_names_are_only_text() -> None:
    facts = air_facts([Named(Carrier(5740), '"><script>', "</svg><script>")])
    assert "<script" not in written("air(facts, 'air')", facts=facts)


def test_nothing_on_air_draws_nothing() -> None:
    assert written("air(none, 'air')").strip() == ""


def test_two_sets_stand_over_one_another_with_a_table_each() -> None:
    soup = soup_of(
        "air_compared(sets, 'both')", sets=[("Accepted now", CASES["one"]), ("Shown above", CASES["six"])]
    )
    assert [caption.get_text() for caption in soup.find_all("caption")] == [
        "Accepted now: Carriers",
        "Shown above: Carriers",
    ]


def test_a_drawing_with_links_is_a_group_and_its_links_have_names() -> None:
    part = Part((line(0, 0, 9, 9), Words(0, 9, "Ana")), "Ana, 14:02 to 14:20", "#loan-1")
    picture = Picture("The day", "One loan.", (Drawing("only", 100, 50, (part, Part((), "only a hint"))),))
    soup = soup_of("drawing(picture, 'day', scroll=true)", picture=picture)
    drawing = soup.find("svg", role="group")
    assert drawing is not None
    link = drawing.find("a")
    assert link is not None
    title = link.find("title")
    assert title is not None
    assert (link["href"], title.get_text()) == ("#loan-1", "Ana, 14:02 to 14:20")
    region = soup.find(role="region", tabindex="0")
    assert region is not None
    assert region["aria-label"] == "The day"


@pytest.mark.parametrize("facts", [CASES["eight evenly, many products on carriers"]])
def test_every_kind_of_shape_has_a_look(facts: AirFacts) -> None:
    used = set(re.findall(r"\bd-[a-z]+", written("air(facts, 'air')", facts=facts)))
    assert used <= set(re.findall(r"\.(d-[a-z]+)", STYLES))
