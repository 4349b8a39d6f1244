"""One module of routes per noun; each has a `router`."""

import importlib
import pkgutil

from fastapi import APIRouter

_ASKED_MOST = ("loans", "line", "hand_out", "desk", "my", "streams")
"""Looked through first at each request, as an address is compared with one router after the other."""


def all_routers() -> list[APIRouter]:
    """Every noun's router: those asked for most, then the others by module name."""
    names = sorted((module.name for module in pkgutil.iter_modules(__path__)), key=lambda n: (n not in _ASKED_MOST, n))
    return [importlib.import_module(f"{__name__}.{name}").router for name in names]
