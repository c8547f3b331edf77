"""What is done with an account that is there: a new password, the end of a lock-out, disabling and enabling it."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.operations.accounts import disable_account, enable_account
from gearlife.operations.passwords import fresh_password
from gearlife.operations.sign_in import end_lock
from gearlife.web.pages import Context
from gearlife.web.settings.people import OfOneAccount
from gearlife.web.settings.setting import Confirming, TellingASecret


class NewPassword(TellingASecret, OfOneAccount, Confirming):
    """`/settings/people/USER/password/`."""

    title = gettext_lazy("A new password")
    button = gettext_lazy("Make a new password")

    def context(self) -> Context:
        """What it does."""
        asks = [
            _("The old password and every session of the account end at once, and a lock-out as well."),
            _("Hand the new one over in person or by phone; its owner changes it under the own settings."),
        ]
        return super().context() | {"says": str(self.account), "asks": asks, "back": self.back}

    def secret(self) -> Context:
        """Make it."""
        stamp = self.permit(None)
        made = self.made_once("people-password", stamp, lambda: fresh_password(user=self.account, stamp=stamp))
        return {"secret": made, "secret_of": _("New password of %(name)s") % {"name": self.account}}


class EndLock(TellingASecret, OfOneAccount, Confirming):
    """`/settings/people/USER/lock/`: after too many wrong tries."""

    title = gettext_lazy("End a lock-out")
    button = gettext_lazy("End it, and make a code")

    def context(self) -> Context:
        """What it does."""
        asks = [
            _("Wrong tries are forgotten, and the account signs in with its own password again."),
            _("Should somebody go on trying, the code lets one new phone or browser in all the same, for an hour."),
        ]
        return super().context() | {"says": str(self.account), "asks": asks, "back": self.back}

    def secret(self) -> Context:
        """End it, and make the code."""
        stamp = self.permit(None)
        made = self.made_once("people-lock", stamp, lambda: end_lock(user=self.account, stamp=stamp))
        return {"secret": made, "secret_of": _("Code for %(name)s, valid for an hour") % {"name": self.account}}


class Disable(OfOneAccount, Confirming):
    """`/settings/people/USER/disable/`."""

    title = gettext_lazy("Disable an account")
    button = gettext_lazy("Disable it")

    def context(self) -> Context:
        """What it does."""
        asks = [
            _("Its sessions end and its tokens stop at once. Its roles are kept, and the history keeps its name."),
            _("It gets no mails any more. An administrator can enable it again."),
        ]
        return super().context() | {"says": str(self.account), "asks": asks, "back": self.back}

    def act(self) -> str:
        """Disable it."""
        stamp = self.permit(None)
        self.once("people-disable", stamp, lambda _: disable_account(user=self.account, stamp=stamp))
        self.told(_("The account is disabled."))
        return self.back


class Enable(OfOneAccount, Confirming):
    """`/settings/people/USER/enable/`."""

    title = gettext_lazy("Enable an account")
    button = gettext_lazy("Enable it")

    def context(self) -> Context:
        """What it does."""
        asks = [_("It comes in again with its password, its tokens that have not ended, and its roles.")]
        return super().context() | {"says": str(self.account), "asks": asks, "back": self.back}

    def act(self) -> str:
        """Enable it."""
        stamp = self.permit(None)
        self.once("people-enable", stamp, lambda _: enable_account(user=self.account, stamp=stamp))
        self.told(_("The account is enabled."))
        return self.back
