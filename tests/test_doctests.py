"""The examples in the docstrings of the pure layers are run as written."""

import doctest
import importlib
import pkgutil
from types import ModuleType

import pytest

import meetapp.data
import meetapp.rules
import meetapp.spectrum


def _modules(package: ModuleType) -> list[str]:
    return [info.name for info in pkgutil.iter_modules(package.__path__, package.__name__ + ".")]


@pytest.mark.parametrize("name", [*_modules(meetapp.spectrum), *_modules(meetapp.data), *_modules(meetapp.rules)])
def test_examples_in_docstrings_hold(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
