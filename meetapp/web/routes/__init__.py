"""One module of routes per noun; each has a `router`."""

import importlib
import pkgutil

from fastapi import APIRouter


def all_routers() -> list[APIRouter]:
    """Every noun's router, by module name."""
    names = sorted(module.name for module in pkgutil.iter_modules(__path__))
    return [importlib.import_module(f"{__name__}.{name}").router for name in names]
