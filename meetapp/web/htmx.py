"""A typed reader of htmx's request headers."""

from fastapi import Request


def wants_fragment(request: Request) -> bool:
    """Whether only the fragment is wanted (asked by htmx, not boosted, not restoring history)."""
    headers = request.headers
    return (
        headers.get("hx-request") == "true"
        and headers.get("hx-boosted") != "true"
        and headers.get("hx-history-restore-request") != "true"
    )
