"""A mail server of this machine that does what it is told: takes mails, refuses them, or dies in mid-sentence.

It speaks as much of RFC 5321 as a client needs to hand over one mail after the other.
"""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes
from email.message import Message
from threading import Thread
from typing import BinaryIO


class MailServer(Thread):
    """Listens on a port of 127.0.0.1 until closed; `fault` says how it fails."""

    def __init__(self, port: int = 0) -> None:
        super().__init__(daemon=True)
        self.taken: list[Message] = []
        self.fault = ""
        self._listening = socket.create_server(("127.0.0.1", port))
        self.port: int = self._listening.getsockname()[1]

    def run(self) -> None:
        """Take one conversation after the other."""
        while True:
            try:
                connection, _ = self._listening.accept()
            except OSError:
                return
            with connection, connection.makefile("rb") as lines:
                try:
                    self._converse(connection, lines)
                except OSError:
                    continue

    def close(self) -> None:
        """Refuse connections from now on."""
        self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()
        self.join(5)

    def _converse(self, connection: socket.socket, lines: BinaryIO) -> None:
        connection.sendall(b"220 stub ESMTP\r\n")
        for line in lines:
            word = line.split()[0].upper() if line.split() else b""
            if word == b"DATA":
                connection.sendall(b"354 go on\r\n")
                mail = b"".join(iter(lambda: next(lines), b".\r\n"))
                if self.fault == "dies before it has taken the mail":
                    return
                self.taken.append(message_from_bytes(mail))
                if self.fault == "dies before it has said so":
                    return
                connection.sendall(b"250 taken\r\n")
                if self.fault == "dies before QUIT":
                    return
            elif word == b"RCPT" and self.fault == "refuses the recipient":
                connection.sendall(b"550 no such mailbox\r\n")
            elif word == b"QUIT":
                connection.sendall(b"221 bye\r\n")
                return
            else:
                connection.sendall(b"250 well\r\n")


@contextmanager
def mail_server(port: int = 0) -> Iterator[MailServer]:
    """A server that is up inside the block."""
    server = MailServer(port)
    server.start()
    try:
        yield server
    finally:
        server.close()
