"""Static files under addresses that name their content, so that a browser asks for each only once."""

import hashlib
from functools import cache
from pathlib import Path

from fastapi import Response
from starlette.datastructures import URL
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

KEPT = "public, max-age=31536000, immutable"
"""A year, the most that RFC 9111 suggests; `immutable`: RFC 8246."""


def static_address(folder: Path, name: str) -> str:
    """Where a page finds a static file of the folder; another address as soon as the file is another.

    Raises FileNotFoundError where there is no such file, so that a wrong name fails in a test.
    """
    path = folder / name
    # A file changed while the server runs (somebody works on it) gets a new address at once.
    return f"/static/{name}?v={_fingerprint(path, path.stat().st_mtime_ns)}"


@cache
def _fingerprint(path: Path, _changed_ns: int) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:10]


class FingerprintedFiles(StaticFiles):
    """Files to be kept for good where the address names their content; asked about each time where it doesn't."""

    def __init__(self, folder: Path) -> None:
        """Serve what lies in the folder."""
        super().__init__(directory=folder)
        self._folder = folder

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, with the rule for keeping it."""
        response = await super().get_response(path, scope)
        asked = URL(scope=scope)
        is_named = asked.query and f"{asked.path}?{asked.query}" == static_address(self._folder, path)
        response.headers["Cache-Control"] = KEPT if is_named else "no-cache"
        return response
