"""The address that goes on paper and into codes to scan."""

from fastapi import Request

from meetapp.flows.club.field_address import answers_at, installation_id
from meetapp.web.state import state_of


def base_address(request: Request, field_address: str) -> str:
    """The club's field address; where none is set, the address by which this browser reaches the server."""
    return (field_address or str(request.base_url)).rstrip("/")


def is_answering(request: Request, field_address: str) -> bool | None:
    """Whether this very server answers at the field address now; None where none is set. Takes 1.5 s at most."""
    return answers_at(field_address, installation_id(state_of(request).server_secret)) if field_address else None
