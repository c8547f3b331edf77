"""Mail into a folder, one file a mail: for a club without a mail server, and for looking at what would be sent."""

import os
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class MailFolder(BaseEmailBackend):
    """Writes each mail whole or not at all, named by its id: sent twice, it is there once."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Write them; how many."""
        folder = Path(settings.MAIL_DIR)
        folder.mkdir(parents=True, exist_ok=True)
        for mail in email_messages:
            name = mail.extra_headers["Message-ID"].strip("<>").partition("@")[0]
            unfinished = folder / f".{name}-{os.getpid()}"
            unfinished.write_bytes(mail.message().as_bytes())
            unfinished.replace(folder / f"{name}.eml")
        return len(email_messages)
