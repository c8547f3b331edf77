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
    "inspections.DamageReport": table(
        item="item_id",
        words="description serial tag decided_reason",
        machine="clock_ahead_seconds device_at",
        gear="severity counts_as state",
        history="club item seen_at received_at reported_by decided_at decided_by",
    ),
    "inspections.AirRecord": table(
        item="item_id",
        gear="cell act felt counts_as pressure_kpa temperature_c elevation_m barometric_kpa strokes",
        machine="clock_ahead_seconds device_at",
        history="item happened_at recorded_at recorded_by",
    ),
    "inspections.AirOfModel": table(setting="model cells lowest_kpa highest_kpa stated_in outside_counts_as"),
    "inspections.PadPosition": table(setting="model code label sort count required"),
    "inspections.ApprovedPart": table(setting="position part part_key maker size thickness_mm stated_in"),
    "inspections.Faceguard": table(
        gear="club label label_key part part_key maker size certified_on label_year discarded_on"
    ),
    "inspections.PadChange": table(
        item="item_id",
        words="reason part part_key",
        gear="position size thickness_mm count faceguard approved as_found",
        machine="clock_ahead_seconds device_at",
        history="item changed_at recorded_at recorded_by",
    ),
    "inspections.PartPolicy": table(setting="hold_unapproved reason decided_at decided_by"),
    "inspections.PartStock": table(gear="club part part_key count count_again counted_at"),
    "inspections.StockEntry": table(
        gear="club part part_key act count change",
        machine="clock_ahead_seconds device_at",
        history="happened_at recorded_at recorded_by",
    ),
}
