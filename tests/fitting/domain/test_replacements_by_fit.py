"""Replacements by fit: what the chart of a model says moves them up or down, and is said."""

from datetime import date

from fitting.domain.replacements import Likeness, Replacement, SizeWords
from fitting.domain.sizing import Candidate, likelihood
from gearlife.domain.vocabulary import Kind


def words(size: str, probability: float, *tried: str) -> SizeWords:
    return SizeWords(Candidate(size, probability, likelihood(probability)), tried)


def replacement(
    likeness: Likeness = Likeness.OTHER, by_chart: SizeWords | None = None, *, accepted_before: bool = False
) -> Replacement:
    return Replacement(
        likeness=likeness,
        same_model=likeness is Likeness.SAME,
        kind=Kind.HELMET,
        size="M",
        life_ends_on=date(2027, 3, 1),
        season_ends_on=None,
        by_chart=by_chart,
        accepted_before=accepted_before,
    )


def test_the_order_is_same_likely_between_untold_unlikely() -> None:
    in_order = [
        replacement(Likeness.SAME),
        replacement(by_chart=words("M", 0.95, "M"), accepted_before=True),
        replacement(by_chart=words("M", 0.97, "M")),
        replacement(by_chart=words("M", 0.9, "M")),
        replacement(by_chart=words("M", 0.5, "M", "L")),
        replacement(Likeness.SAME_SIZE_LABEL),
        replacement(),
        replacement(Likeness.SAME, words("M", 0.01, "L")),
        replacement(by_chart=words("M", 0.0)),
    ]
    backwards = list(reversed(in_order))
    assert sorted(backwards, key=lambda each: each.rank) == in_order


def test_why_says_what_the_chart_says_without_a_number() -> None:
    assert "size M is likely for this player." in replacement(by_chart=words("M", 0.95, "M")).why
    assert "between M and L: try each." in replacement(by_chart=words("M", 0.5, "M", "L")).why
    assert "unlikely for this player; L is nearer." in replacement(by_chart=words("M", 0.01, "L")).why
    assert "near for this player" in replacement(by_chart=words("M", 0.4, "M")).why
    assert "0." not in replacement(by_chart=words("M", 0.5, "M", "L")).why


def test_why_says_that_the_model_was_accepted_before() -> None:
    assert "was accepted before" in replacement(accepted_before=True).why
    assert "before." not in replacement().why.replace("before it is worn.", "")
