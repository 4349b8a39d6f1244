"""The server's own certificate, where the club has one: what is wrong with it is told before the start."""

import ssl
from pathlib import Path

from meetapp.store.forward import CantOpen

# Codes of X509_verify_cert (OpenSSL, include/openssl/x509_vfy.h).
_NOT_YET_VALID, _EXPIRED = 9, 10


def check_certificate(certificate: Path | None, key: Path | None) -> None:
    """Whether a server can run with these two PEM files; both None: without.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    if certificate is None and key is None:
        return
    if certificate is None or key is None:
        raise CantOpen("A certificate and its key go together: give both --certificate and --key.")
    for path, what in ((certificate, "certificate"), (key, "key")):
        _check_readable(path, what)
    _check_in_force(_loaded(certificate, key), certificate)


def _check_readable(path: Path, what: str) -> None:
    try:
        path.read_bytes()
    except FileNotFoundError as error:
        raise CantOpen(f"There is no file {path}. Name the {what}'s file with --{what}.") from error
    except OSError as error:
        raise CantOpen(
            f"{path} can't be read by this user. Make it a file that this user may read, and nobody else."
        ) from error


def _loaded(certificate: Path, key: Path) -> ssl.SSLContext:
    def locked() -> str:
        raise CantOpen(f"The key in {key} is locked by a password. Take the password off it, then start again.")

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        context.load_cert_chain(certificate, key, password=locked)
    except ssl.SSLError as error:
        if error.reason == "KEY_VALUES_MISMATCH":
            raise CantOpen(f"The key in {key} doesn't belong to the certificate in {certificate}.") from error
        raise CantOpen(
            f"{certificate} and {key} hold no certificate and key in PEM form "
            "(text that begins with -----BEGIN). Check that each option names its own file."
        ) from error
    return context


def _check_in_force(server: ssl.SSLContext, certificate: Path) -> None:
    """Shake hands with ourselves in memory, trusting this certificate: what fails then is its dates."""
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    client.check_hostname = False
    client.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN
    client.load_verify_locations(certificate)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = (
        client.wrap_bio(to_client, to_server),
        server.wrap_bio(to_server, to_client, server_side=True),
    )
    for _ in range(4):  # a handshake takes two rounds
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError as error:
                raise _out_of_force(certificate, error) from error


def _out_of_force(certificate: Path, error: ssl.SSLCertVerificationError) -> CantOpen:
    if error.verify_code == _EXPIRED:
        return CantOpen(f"The certificate in {certificate} has expired. Get a new one, or start without --certificate.")
    if error.verify_code == _NOT_YET_VALID:
        return CantOpen(f"The certificate in {certificate} isn't valid yet. Check it, and this machine's clock.")
    return CantOpen(f"Phones can't check the certificate in {certificate}: {error.verify_message}.")
