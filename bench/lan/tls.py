"""TLS for the server: a handshake is done by the thread that answers, so a stalled one holds up nobody."""

from __future__ import annotations

import socket
import ssl
from typing import Any

from cheroot.makefile import MakeFile
from cheroot.ssl import Adapter
from cheroot.wsgi import Server

from bench.lan.authority import Certificates


class LateHandshake(Adapter):
    """Wraps a connection without a word; the first reading of it does the handshake, within its time limit."""

    def __init__(self, certificates: Certificates) -> None:
        super().__init__(str(certificates.chain_file), str(certificates.key_file))
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.renew(certificates)

    def renew(self, certificates: Certificates) -> None:
        """Serve with these certificates from the next connection on."""
        self.context.load_cert_chain(certificates.chain_file, certificates.key_file)

    def bind(self, sock: socket.socket) -> socket.socket:
        """Leave the listening socket plain."""
        return sock

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, Any]]:
        """Return the wrapped connection and what it adds to the environment of its requests."""
        wrapped = self.context.wrap_socket(
            sock, server_side=True, do_handshake_on_connect=False, suppress_ragged_eofs=True
        )
        return wrapped, self.get_environ()

    def get_environ(self) -> dict[str, Any]:
        """Return what tells the app that a request came over TLS."""
        return {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def makefile(self, sock: socket.socket, mode: str = "r", bufsize: int = -1) -> Any:
        """Return the connection as a file of the server's own kind."""
        return MakeFile(sock, mode, bufsize)


class NetworkServer(Server):
    """A server whose log leaves out what a client's broken handshake says."""

    def error_log(self, msg: str = "", level: int = 20, traceback: bool = False) -> None:
        """Write what went wrong, unless it is a client's that does not trust us or went away."""
        if "SSL" not in msg and "socket.error" not in msg:
            super().error_log(msg, level, traceback)
