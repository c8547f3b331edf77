"""What the columns of fitting say of a person; `gearlife.domain.privacy` has the words."""

from collections.abc import Mapping

from gearlife.domain.privacy import Table, table

TABLES: Mapping[str, Table] = {
    "fitting.Player": table(
        player="id",
        name="given_name family_name name_key",
        person="jersey_number birth_year position team former_names",
        setting="club",
        machine="removed_at",
    ),
    "fitting.Measurement": table(
        player="player_id",
        measurement="player kind protocol tape readings_mm taken_on measured_by recorded_at",
    ),
    "fitting.MeasurementRead": table(player="player_id", read="player read_by read_at why"),
    "fitting.PlayerChange": table(player="player_id", change="player kind happened_on recorded_at recorded_by"),
    "fitting.Fit": table(
        item="item_id",
        player="player_id",
        fit="pads_and_air hairstyle measurement",
        history="item player accepted tries size fitted_at fitted_by recorded_at recorded_by",
    ),
    "fitting.Assignment": table(
        item="item_id",
        player="player_id",
        words="condition_at_issue condition_at_return reasons_against warnings",
        gear="missing_parts",
        history="item player kind loan recorded_as issued_at returned_at replaces could_not_be_issued recorded_at "
        "recorded_by",
    ),
    "fitting.Loaner": table(
        item="item_id",
        words="pads_and_air",
        gear="kind size bands",
        history="item prepared_at prepared_by ended_at ended_by",
    ),
    "fitting.CountedGear": table(
        player="player_id",
        words="condition_at_issue",
        history="player kind count size given_back lost handed_out_at recorded_at recorded_by",
    ),
    "fitting.CountedReturn": table(
        player="counted_gear__player_id",
        words="condition",
        history="counted_gear count lost returned_at recorded_at recorded_by",
    ),
    # The names go with their salt, and the seal still stands.
    "fitting.Receipt": table(
        player="player_id",
        person="player_name acknowledged_name salt",
        words="shown",
        machine="digest names_hash seal",
        history="player made_at made_by replaced_at acknowledged_at acknowledged_as acknowledged_with",
    ),
    "fitting.AllocationPlan": table(
        words="short notes failed_because",
        setting="kind weights state",
    ),
    "fitting.PlanLine": table(
        item="item_id",
        player="player_id",
        words="because state_because",
        history="plan player kind outcome item size likelihood state",
    ),
    "fitting.SetAside": table(
        item="item_id", player="player_id", history="item player plan kind made_at made_by ended_at ended_by"
    ),
    "fitting.RetentionRule": table(setting="of source mark"),
    "fitting.SizeChart": table(gear="rows positions stated_in"),
}
