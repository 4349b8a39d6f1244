"""The examples in the docstrings of the pure layers are run as written."""

import doctest
import importlib
import inspect
import pkgutil
from types import ModuleType

import pytest

import meetapp.data
import meetapp.review
import meetapp.rules
import meetapp.spectrum


def _modules(package: ModuleType) -> list[str]:
    return [info.name for info in pkgutil.walk_packages(package.__path__, package.__name__ + ".")]


@pytest.mark.parametrize(
    "name",
    [
        *_modules(meetapp.spectrum),
        *_modules(meetapp.data),
        *_modules(meetapp.rules),
        *_modules(meetapp.review),
        "meetapp.flows.review.review_rows",
        "meetapp.flows.files.meet_file_reading",
    ],
)
def test_examples_in_docstrings_hold(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


@pytest.mark.parametrize("name", [*_modules(meetapp.spectrum), *_modules(meetapp.data)])
def test_every_public_function_of_the_sums_shows_an_example(name: str) -> None:
    module = importlib.import_module(name)
    public = [
        each
        for each_name, each in inspect.getmembers(module, inspect.isfunction)
        if each.__module__ == name and not each_name.startswith("_")
    ]
    assert [each.__name__ for each in public if ">>>" not in (each.__doc__ or "")] == []
