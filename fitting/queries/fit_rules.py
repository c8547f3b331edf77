"""The rule about fits that applies to an item, out of what is recorded."""

from datetime import date

from fitting.domain.fit_gate import rule_for
from gearlife.domain.clocks import Rule
from gearlife.domain.recorded import ItemRecord, Recorded


def rule_of(about: Recorded, item: ItemRecord, day: date) -> Rule | None:
    """The rule of the item's organisation that is in force on the day; None where there is none."""
    own = (each.rule for each in about.rules.values() if each.organisation_id == item.organisation_id)
    return rule_for(item.facts(), own, day)
