"""What a form about a fitting carries: the tries that went before, in the address, and what is tapped now."""

import json
from collections.abc import Mapping
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from fitting.domain.fits import (
    ANOTHER_ITEM,
    CHECKS,
    MOST_TRIES,
    Remedy,
    Tried,
    Try,
    every_check_passes,
    faults_of,
    proposals,
)
from fitting.models import Player
from fitting.operations.fits import NewFit
from fitting.queries.fits import measurement_behind
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item
from gearlife.web.pages import Page

PASSES = "passes"
LONGEST_FACT = {"hairstyle": 80, "pads_and_air": 300}


def written(tries: list[Try]) -> str:
    """Tries as the address carries them: of each what failed, and what had been done before it."""
    told = [
        {
            "failed": [code for code, holds in each.results.items() if not holds],
            "done": {tried.check: tried.remedy for tried in each.remedies},
        }
        for each in tries
    ]
    return json.dumps(told, separators=(",", ":")) if told else ""


def read_tries(kind: Kind, text: str) -> list[Try]:
    """The tries that an address carries; none where it was cut or changed."""
    try:
        tries = [_read_try(kind, each) for each in json.loads(text or "[]")]
    except (ValueError, TypeError, AttributeError, KeyError):
        return []
    return [] if len(tries) >= MOST_TRIES or (tries and any(faults_of(kind, tries))) else tries


def now_tried(kind: Kind, earlier: list[Try], typed: QueryDict, *, passes: bool) -> Try:
    """What is tapped now: the checks that fail, none of them where all pass, and what was done since the last try."""
    results = dict(every_check_passes(kind))
    failing = [code for code in typed.getlist("failed") if code in results]
    if passes and failing:
        raise InvalidInputError.at(
            "/failed", _("Something is tapped as failing: it cannot be that every check passes.")
        )
    if not passes and not failing:
        raise InvalidInputError.at("/failed", _("Tap each check that fails; or say that every check passes."))
    return Try(results | dict.fromkeys(failing, False), _done(kind, earlier, typed))


def shown(kind: Kind, tries: list[Try]) -> list[Mapping[str, Any]]:
    """Every check of the list; of what failed in the last try, what to do about it, in order."""
    failed = {code for code, holds in tries[-1].results.items() if not holds} if tries else set()
    proposed = {each.code: proposals(kind, each.code, tries) if each.code in failed else [] for each in CHECKS[kind]}
    return [
        {
            "check": check,
            "failed": check.code in failed,
            "remedies": [remedy for remedy in proposed[check.code] if remedy not in ANOTHER_ITEM],
            "after": [remedy for remedy in proposed[check.code] if remedy in ANOTHER_ITEM],
        }
        for check in CHECKS[kind]
    ]


def new_fit(page: Page, item: Item, player: Player, tries: list[Try]) -> NewFit:
    """The fitting as it was tapped, by whoever is signed in, with the last measurement behind it."""
    facts = {name: page.text(name) for name in LONGEST_FACT}
    for name, longest in LONGEST_FACT.items():
        if len(facts[name]) > longest:
            raise InvalidInputError.at(f"/{name}", _("Write at most %(longest)s characters.") % {"longest": longest})
    return NewFit(
        item_id=item.id,
        player=player,
        tries=tries,
        pads_and_air=facts["pads_and_air"],
        hairstyle=facts["hairstyle"],
        measurement=measurement_behind(player, Kind(item.kind)),
    )


def fit_in_the_act(page: Page, item: Item, player: Player) -> NewFit | None:
    """The fitting that is recorded with the handing out: every check passes, by one tap; None without the tap."""
    if page.typed.get("fit") != PASSES:
        return None
    return new_fit(page, item, player, [Try(every_check_passes(Kind(item.kind)))])


def _read_try(kind: Kind, told: Mapping[str, Any]) -> Try:
    failed = [str(code) for code in told["failed"]]
    done = [Tried(str(code), Remedy(remedy)) for code, remedy in told["done"].items()]
    return Try(dict(every_check_passes(kind)) | dict.fromkeys(failed, False), done)


def _done(kind: Kind, earlier: list[Try], typed: QueryDict) -> list[Tried]:
    """The remedies tapped for what had failed; one that is none of the check's is left for the faults to name."""
    if not earlier:
        return []
    failed = [code for code, holds in earlier[-1].results.items() if not holds]
    words = {remedy.value for remedy in Remedy}
    chosen = {code: typed.get(f"done-{code}", "") for code in failed}
    return [Tried(code, Remedy(remedy)) for code, remedy in chosen.items() if remedy in words]
