"""What signing in leaves behind: wrong tries, codes that let a new browser in, and sessions."""

from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models

from gearlife.models.people import User


class FailedSignIn(models.Model):
    """One wrong try in one count. The count is named by a keyed hash: people type passwords into the wrong field."""

    counter = models.CharField(max_length=64)
    at = models.DateTimeField(db_index=True)

    class Meta:
        # What every try asks for: the failures of its counts.
        indexes = [models.Index(fields=["counter", "at"], name="failed_sign_in_counted")]

    def __str__(self) -> str:
        return self.counter


class CodeToSignIn(models.Model):
    """A code that makes one new browser known, whatever strangers have tried; it opens nothing without the password."""

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64)
    expires_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"for {self.user}"


class SignInSession(AbstractBaseSession):
    """A session of the pages, with whose it is; its key is a secret and stands on no page."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, null=True, related_name="+")
    began_at = models.DateTimeField(null=True)
    used_at = models.DateTimeField(null=True)
    on_phone = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"of {self.user}"
