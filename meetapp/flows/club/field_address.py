"""Does this server answer at the club's field address? One fixed path is asked, and only yes or no comes out."""

import hashlib
import hmac
import http.client
import ssl
import threading
from urllib.parse import urlsplit

from meetapp.flows.club.club import field_address_from
from meetapp.flows.errors import MeetError

ANSWER_PATH = "/answers-here"
TIMEOUT_S = 1.5


def installation_id(server_secret: str) -> str:
    """A word that only this installation answers with; it tells nothing about the secret it is made from."""
    return hmac.new(server_secret.encode(), b"answers here", hashlib.sha256).hexdigest()[:32]


def answers_at(field_address: str, expected_id: str) -> bool:
    """Whether this installation answers at the address.

    Only http and https, only our own path, no redirects, a short time; whatever else is there gives the same 'no', so
    that nobody learns from it what stands at other addresses.
    """
    try:
        address = urlsplit(field_address_from(field_address))
    except MeetError:
        return False
    if not address.hostname:
        return False
    found: list[bytes] = []
    # A server that answers drop by drop must not hold the page: the thread is left behind then.
    asking = threading.Thread(target=_ask, args=(address.scheme, address.hostname, address.port, found), daemon=True)
    asking.start()
    asking.join(TIMEOUT_S)
    return bool(found) and hmac.compare_digest(found[0], expected_id.encode())


def _ask(scheme: str, host: str, port: int | None, found: list[bytes]) -> None:
    try:
        connection = (
            # A certificate of one's own isn't known here, and the answer itself tells whose server it is.
            http.client.HTTPSConnection(host, port, timeout=TIMEOUT_S, context=_unverified())
            if scheme == "https"
            else http.client.HTTPConnection(host, port, timeout=TIMEOUT_S)
        )
        try:
            connection.request("GET", ANSWER_PATH, headers={"Connection": "close"})
            response = connection.getresponse()
            if response.status == 200:
                found.append(response.read(64))
        finally:
            connection.close()
    except (OSError, ssl.SSLError, http.client.HTTPException, UnicodeError, ValueError):
        return


def _unverified() -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context
