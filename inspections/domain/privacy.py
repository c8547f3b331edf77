"""What the columns of inspections say of a person; `gearlife.domain.privacy` has the words."""

from collections.abc import Mapping

from gearlife.domain.privacy import Table, table

TABLES: Mapping[str, Table] = {
    "inspections.Inspection": table(item="item_id", words="looked_by", gear="depth entered_by outcome not_looked_at"),
    "inspections.Finding": table(item="inspection__item_id", words="part note", gear="point defect grade counts_as"),
    "inspections.Checklist": table(setting="kind points"),
    "inspections.NotSeen": table(
        item="item_id",
        player="player_id",
        words="note",
        machine="clock_ahead_seconds device_at",
        history="item player noted_at recorded_at recorded_by",
    ),
    "inspections.AirRecord": table(
        item="item_id",
        gear="cell act felt counts_as pressure_kpa temperature_c elevation_m barometric_kpa strokes",
        machine="clock_ahead_seconds device_at",
        history="item happened_at recorded_at recorded_by",
    ),
    "inspections.AirOfModel": table(setting="model cells lowest_kpa highest_kpa stated_in outside_counts_as"),
}
