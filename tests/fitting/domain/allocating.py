"""Small random pools of players and gear, and the cost of a plan reckoned anew from the words that say what it is."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import permutations
from uuid import UUID

from hypothesis import strategies as st

from fitting.domain.pools import Aims, Group, Offer, Wearer, Weights

MODELS = [UUID(int=1), UUID(int=2)]
GROUPS: list[Group] = [(model, size) for model in MODELS for size in ("M", "L")]
FIRST_DAY = date(2018, 1, 1)


@dataclass(frozen=True)
class Pool:
    """What a plan is made of."""

    wearers: Sequence[Wearer]
    offers: Sequence[Offer]
    weights: Weights
    aims: Aims


@st.composite
def pools(draw: st.DrawFn, most: int = 5) -> Pool:
    """A few players and items; some items are for one player alone, some sizes barely possible or not at all."""
    players = [UUID(int=100 + n) for n in range(draw(st.integers(0, most)))]
    items = [UUID(int=200 + n) for n in range(draw(st.integers(0, most)))]
    owner = st.one_of(st.none(), st.none(), st.sampled_from([*players, UUID(int=999)]))
    made = st.one_of(st.none(), st.integers(0, 3000).map(lambda days: FIRST_DAY + timedelta(days)))
    offers = [Offer(id_, draw(st.sampled_from(GROUPS)), draw(made), draw(owner)) for id_ in items]
    probability = st.sampled_from([0.0, 0.05, 0.0999, 0.1, 0.35, 0.5, 0.8, 0.97, 1.0])
    last = st.one_of(st.none(), st.sampled_from([*items, UUID(int=998)]))
    styles = st.frozensets(st.sampled_from(MODELS))
    sizes = st.dictionaries(st.sampled_from(GROUPS), probability)
    wearers = [Wearer(id_, draw(sizes), draw(last), draw(styles)) for id_ in players]
    points = st.integers(0, 100)
    size, keep, age, spare = (draw(points) for _ in range(4))
    weights = Weights(size, keep, age, spare, draw(st.integers(0, 50)), position=draw(points))
    spares = draw(st.dictionaries(st.sampled_from(GROUPS), st.integers(0, 2)))
    aims = Aims(FIRST_DAY.toordinal() + draw(st.integers(0, 3000)), draw(st.integers(1, 3000)), spares)
    return Pool(wearers, offers, weights, aims)


def may_have(wearer: Wearer, offer: Offer) -> bool:
    """The hard rules of a pair, in their own words: a plausible size, and made or set aside for nobody else."""
    return wearer.sizes.get(offer.group, 0.0) >= 0.1 and offer.only_for in {None, wearer.id}


def cost_of(pool: Pool, items: Mapping[UUID, UUID]) -> int:
    """The cost of a plan, wish by wish: doubt, change, age, and the spares that cannot be kept of what it leaves."""
    offers = {offer.id: offer for offer in pool.offers}
    wearers = {wearer.id: wearer for wearer in pool.wearers}
    pairs = sum(pair_cost(pool, wearers[player], offers[item]) for player, item in items.items())
    in_stock = Counter(offer.group for offer in pool.offers if offer.only_for is None)
    left = Counter(offer.group for offer in pool.offers if offer.only_for is None and offer.id not in items.values())
    missing = sum(max(0, min(wanted, in_stock[group]) - left[group]) for group, wanted in pool.aims.spares.items())
    return pairs + 1000 * pool.weights.spare * missing


def pair_cost(pool: Pool, wearer: Wearer, offer: Offer) -> int:
    """What one player with one item costs."""
    doubt = round(1000 * pool.weights.size * (1 - wearer.sizes[offer.group]))
    change = 1000 * pool.weights.keep if wearer.last not in {None, offer.id} else 0
    away = abs(offer.made_on.toordinal() - pool.aims.middle) / pool.aims.span if offer.made_on else 1.0
    style = 1000 * pool.weights.position * (offer.group[0] in wearer.other_style)
    return doubt + style + change + round(1000 * pool.weights.age * min(1.0, away) ** 2)


def every_plan(pool: Pool) -> Iterator[dict[UUID, UUID]]:
    """Every plan that the hard rules leave."""
    players, offers = list(pool.wearers), [*pool.offers, *[None] * len(pool.wearers)]
    for chosen in set(permutations(offers, len(players))):
        pairs = [(player, offer) for player, offer in zip(players, chosen, strict=True) if offer]
        if all(may_have(player, offer) for player, offer in pairs):
            yield {player.id: offer.id for player, offer in pairs}
