"""Passwords that are said over the phone and typed on one: two invented words of plain syllables."""

from collections.abc import Callable, Sequence

# Without letters that are taken for others, on paper or by ear.
CONSONANTS, VOWELS = "bdfghkmnprstvz", "aeiou"
SYLLABLES = tuple(consonant + vowel for consonant in CONSONANTS for vowel in VOWELS)
SYLLABLES_OF_A_WORD = 3

Choose = Callable[[Sequence[str]], str]


def word_pair(choose: Choose) -> str:
    """Two words with a hyphen, as `rodaki-tumeso`: 70 syllables at six places, 36 bits if `choose` is fair."""
    return f"{word(choose)}-{word(choose)}"


def word(choose: Choose) -> str:
    """One invented word of three syllables."""
    return "".join(choose(SYLLABLES) for _ in range(SYLLABLES_OF_A_WORD))
