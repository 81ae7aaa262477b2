"""A throw-away certificate authority (by the package cryptography), and a server's certificate for one name."""

from __future__ import annotations

import ssl
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID


def authority_for(name: str, folder: Path) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """The context of a server that is called ``name``, and that of a caller which trusts the authority alone."""
    key, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    issuer = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tern Island test authority")])
    authority = (
        _builder(issuer, issuer, key.public_key(), now)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    own = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    certificate = (
        _builder(subject, issuer, own.public_key(), now)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    private = own.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    chain = folder / "chain.pem"
    chain.write_bytes(private + certificate.public_bytes(pem))
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(chain)
    return server, ssl.create_default_context(cadata=authority.public_bytes(pem).decode())


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(hours=1))
    )
