"""The pages of channel plans."""

import pytest

from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import post
from tests.web.set_up import all_rows, refuses, works_once

NEW = {"letter": "X", "name": "Our table", "source": "manual, p. 3", "lines": "1 5660\n2 5700"}


def test_a_plan_is_added_once_and_listed(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/plans/new", "Save the plan", NEW, "plan_added", "Channel plan X is saved.")
    assert "Plan X, Our table" in organiser.text
    organiser.follow("Change plan X")
    works_once(
        organiser,
        store,
        organiser.path,
        "Save the plan",
        NEW | {"lines": "1 5661"},
        "plan_changed",
        "Channel plan X is saved.",
    )


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"letter": "XYZ"}, "A channel plan goes by one or two letters, A to Z."),
        ({"letter": "R"}, "There is a channel plan R already. Choose another letter."),
        ({"lines": "5660"}, "'5660' is no channel: write its number and its MHz, such as 1 5658."),
        ({"lines": "1 566"}, "566 MHz is not near 5.8 GHz"),
        ({"lines": ""}, "A plan has 1 to 16 channels, one per line; here are 0."),
        ({"lines": "1 5660\n1 5700"}, "The number 1 stands there twice."),
        ({"source": ""}, "Fill in: the source."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_plan_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/plans/new", "Save the plan", NEW | typed, sentence)


def test_a_published_plan_is_read_with_its_source_and_has_no_form(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/plans")
    organiser.follow("Source of plan R")
    assert "5658" in organiser.text
    assert "vtx_string.c" in organiser.text
    assert organiser.page.find(attrs={"name": "lines"}) is None
    before = all_rows(store)
    post(organiser, organiser.path, **NEW)
    assert organiser.status == 422
    assert "A published channel plan can't be changed. Add one of your own under another letter." in organiser.text
    assert all_rows(store) == before
