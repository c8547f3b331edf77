"""Other people's names, taken out of one person's data."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from fitting.domain.names import NameInWords

ANOTHER = "another player"
SOMEBODY = "somebody"


@dataclass(frozen=True)
class OthersMasked:
    """Puts "another player" where the whole name of one stands, and "somebody" where an account's name does."""

    players: tuple[NameInWords, ...]
    accounts: tuple[str, ...]

    def masked(self, value: object) -> object:
        """A text, or every text inside a value of JSON, without them."""
        match value:
            case str():
                return self._text(value)
            case list() | tuple():
                return [self.masked(part) for part in value]
            case dict():
                return {key: self.masked(part) for key, part in value.items()}
        return value

    def _text(self, text: str) -> str:
        folded = text.casefold()
        for name in self.players:
            if name.family.casefold() in folded:
                text = name.name(text)
        # A single word is a word of ours, though an account may be called so.
        for account in self.accounts if " " in text else ():
            if account in text:
                text = re.sub(rf"(?<!\w){re.escape(account)}(?!\w)", SOMEBODY, text)
        return text


def others_masked(
    players: Iterable[tuple[str, str]], accounts: Iterable[str], own: tuple[str, str], own_number: int | None
) -> OthersMasked:
    """From the names of everybody else; somebody of the person's own name is the person."""
    kept = () if own_number is None else (own_number,)
    others = (name for name in dict.fromkeys(players) if name != own)
    return OthersMasked(tuple(NameInWords(*name, ANOTHER, kept) for name in others), tuple(dict.fromkeys(accounts)))
