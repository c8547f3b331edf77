"""All that the page of one item shows, read in a number of queries that does not grow with its history."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from gearlife.domain.access import Actor
from gearlife.domain.life import Life, Span, SpanKind
from gearlife.models import Item
from gearlife.queries.history import history_of
from gearlife.queries.holds import holds_of
from gearlife.queries.items import complete_items_about, item_columns
from gearlife.queries.life import life_of
from gearlife.queries.out_of_use import why_out_of_use_about
from gearlife.queries.recorded import read

Row = dict[str, Any]

WHERE_IT_IS = "not_in_stock"


@dataclass(frozen=True)
class ItemPage:
    """One item as of a day: its row, every reason against wearing and against handing out, its life and its history.

    `not_before` is the first day on which something recorded will stop it, None where nothing does; `history` comes
    newest first.
    """

    row: Row
    stops: list[str]
    bars: list[str]
    not_before: date | None
    life: Life
    holds: list[Row]
    history: list[Row]

    @property
    def wearer(self) -> Span | None:
        """Who wears it now."""
        worn = (span for span in self.life.spans if span.kind is SpanKind.WORN and span.ends_on is None)
        return next(worn, None)


def item_page(item: Item, actor: Actor, day: date) -> ItemPage:
    """Read it; the item is one that the actor may see."""
    about = read([item.id], day)
    [row] = complete_items_about(about, list(item_columns(Item.objects.filter(id=item.id), day)), day)
    stops = _each_once(why_out_of_use_about(about, day).get(item.id, []))
    life = life_of(item, about, actor, day)
    holds = holds_of(item.id, day)
    return ItemPage(
        row=row,
        stops=stops,
        bars=[
            why["detail"] for why in row["not_issuable_because"] if _bars(why) and why["detail"] not in " ".join(stops)
        ],
        not_before=_first_stop(life, holds, day),
        life=life,
        holds=holds,
        history=history_of(item.id, item.organisation_id)[::-1],
    )


def _each_once(reasons: list[str]) -> list[str]:
    """Without those that another says word for word within its own."""
    return [words for words in reasons if not any(words in other and words != other for other in reasons)]


def _bars(why: Row) -> bool:
    """Whether a reason against handing it out says more than where it is."""
    return bool(why["code"] != WHERE_IT_IS)


def _first_stop(life: Life, holds: list[Row], day: date) -> date | None:
    falls = [post.falls_on for post in life.posts if post.ends_it and post.falls_on]
    begins = [hold["starts_on"] for hold in holds if hold["state"] != "released"]
    return min((on for on in (*falls, *begins) if on > day), default=None)
