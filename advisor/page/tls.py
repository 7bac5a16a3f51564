"""The pages by https: a certificate of the house, and a front that takes the cover off."""

import asyncio
import os
import ssl
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from socket import socket
from typing import Final

from advisor.errors import Refused

VALID: Final = timedelta(days=820)  # phones take none that is valid for more than 825
NAME: Final = "Advisor, the page of this garden"
HANDSHAKE_S: Final = 10.0
CHUNK: Final = 64 * 1024


def made(garden: Path, addresses: Sequence[str], now: datetime) -> tuple[Path, Path]:
    """Give certificate and key of this house, made where none for these addresses is there.

    Parameters
    ----------
    garden : Path
        They lie beside it.
    addresses : sequence of str
        By which the page is called.
    now : datetime
    """
    from cryptography import x509

    certificate, key = (garden.with_name(f"{garden.name}.page-{what}.pem")
                        for what in ("certificate", "certificate-key"))
    if certificate.exists() and key.exists():
        there = x509.load_pem_x509_certificate(certificate.read_bytes())
        names = there.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        called = {str(each) for each in names.get_values_for_type(x509.IPAddress)}
        if set(addresses) <= called and there.not_valid_after_utc > now + timedelta(days=30):
            return certificate, key
    _make(certificate, key, addresses, now)
    return certificate, key


def _make(certificate: Path, key: Path, addresses: Sequence[str], now: datetime) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    secret = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    signed = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name)
        .public_key(secret.public_key()).serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1)).not_valid_after(now + VALID)
        .add_extension(x509.SubjectAlternativeName(
            [x509.DNSName("localhost"), *(x509.IPAddress(ip_address(each))
                                          for each in addresses)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=False)
        .sign(secret, hashes.SHA256()))
    text = secret.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                                serialization.NoEncryption())
    key.unlink(missing_ok=True)
    with os.fdopen(os.open(key, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(text)
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))


def context(certificate: Path, key: Path) -> ssl.SSLContext:
    """Read a certificate and its key.

    Raises
    ------
    Refused
        They are none, or do not belong together.
    """
    made_of = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made_of.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        made_of.load_cert_chain(certificate, key)
    except (ssl.SSLError, OSError) as error:
        raise Refused("--certificate", f"{certificate}, {error.strerror or error}",
                      "a certificate and the key made for it, as PEM", "Name others.") from error
    return made_of


def front(listening: socket, inner_port: int, secured: ssl.SSLContext, most: int) -> None:
    """Take https on a port and hand what it says to the server inside, until it is ended."""
    room = asyncio.Semaphore(most)

    async def pump(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(OSError, ssl.SSLError, asyncio.IncompleteReadError):
            while data := await reader.read(CHUNK):
                writer.write(data)
                await writer.drain()
        with suppress(OSError, ssl.SSLError):
            writer.close()

    async def meet(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        async with room:
            try:
                inside, to_inside = await asyncio.open_connection("127.0.0.1", inner_port)
            except OSError:
                writer.close()
                return
            await asyncio.gather(pump(reader, to_inside), pump(inside, writer))

    async def serve() -> None:
        server = await asyncio.start_server(meet, sock=listening, ssl=secured,
                                            ssl_handshake_timeout=HANDSHAKE_S)
        async with server:
            await server.serve_forever()

    asyncio.run(serve())
