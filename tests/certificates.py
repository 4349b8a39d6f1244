"""Certificates that a club made itself, for tests."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

DAY = timedelta(days=1)
PEM = serialization.Encoding.PEM


def write_key(path: Path, password: bytes | None = None) -> ec.EllipticCurvePrivateKey:
    key = ec.generate_private_key(ec.SECP256R1())
    lock = serialization.BestAvailableEncryption(password) if password else serialization.NoEncryption()
    path.write_bytes(key.private_bytes(PEM, serialization.PrivateFormat.PKCS8, lock))
    return key


def write_pair(folder: Path, begins: timedelta = -DAY, ends: timedelta = DAY) -> tuple[Path, Path]:
    """A certificate that the club made itself, in force from and to so long from now; and its key."""
    certificate, key = folder / "meet.pem", folder / "meet.key"
    made, now = write_key(key), datetime.now(UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "meet.local")])
    signed = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(made.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now + begins)
        .not_valid_after(now + ends)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("meet.local")]), critical=False)
        .sign(made, hashes.SHA256())
    )
    certificate.write_bytes(signed.public_bytes(PEM))
    return certificate, key
