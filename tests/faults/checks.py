"""What must hold after every fault: nothing lost, nothing doubled, nothing half done, nobody left behind."""

from collections import Counter
from typing import Any

from tests.faults.clients import FEWEST_ACTS, Load
from tests.faults.running import Place


def check(place: Place, before: dict[str, Any], load: Load) -> dict[str, Any]:
    """Compare what clients were told with what is there; what was found, in figures."""
    assert not [act for act in load.acts if act.outcome == "unknown"], "a client was never answered"
    assert len(load.acts) >= FEWEST_ACTS, f"{len(load.acts)} acts show nothing"
    faults = {status for status in load.statuses() if status >= 500}
    assert faults <= {503}, f"answered with {faults}"
    settled = place.inside("settled")
    after = place.inside("counts")
    for kind in ("inspection", "hold", "assignment"):
        made = Counter(after[kind]) - Counter(before[kind])
        ok, refused = load.ids(kind, "ok"), load.ids(kind, "refused")
        assert not {id_: made[id_] for id_ in ok if made[id_] != 1}, f"{kind}: lost or doubled"
        assert not refused & made.keys(), f"{kind}: refused and there all the same"
        assert made.keys() == ok, f"{kind}: more than was asked for"
    assert settled["changed_by_sweeps"] == [0, 0], "the alerts were not what the concerns say"
    assert settled["waiting"] == 0, "the outbox has not come to its end"
    assert after["dead"] == 0, "a message was given up"
    mails = {mail.stem for mail in (place.var / "mail").glob("*.eml")}
    assert set(after["sent"]) <= mails, "sent, and nowhere"
    retried = sum(act.attempts > 1 for act in load.acts)
    return {"acts": len(load.acts), "ok": sum(act.outcome == "ok" for act in load.acts), "retried": retried}
