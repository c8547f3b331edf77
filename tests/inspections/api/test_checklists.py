"""Checklists over the API."""

from typing import Any

import pytest

from inspections.models import Checklist
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db

HELMET = {
    "kind": "helmet",
    "points": [
        {
            "code": "shell",
            "label": "Shell",
            "defects": [{"code": "crack", "label": "A crack", "mildest": "stop", "ends_use": True}],
        }
    ],
}


def listed(by: Caller, query: str = "") -> list[tuple[str, int]]:
    rows: list[dict[str, Any]] = by("GET", f"checklists/{query}").json()["results"]
    return [(row["kind"], row["revision"]) for row in rows]


def test_the_defaults_are_there_from_the_beginning(officer: Caller) -> None:
    [row] = officer("GET", "checklists/?kind=helmet").json()["results"]
    shell = next(point for point in row["points"] if point["code"] == "shell")

    assert [defect["code"] for defect in shell["defects"]] == ["crack", "gouge", "dent", "coating"]
    assert shell["defects"][0]["mildest"] == "stop"


def test_an_administrator_adds_the_next_revision_and_the_newest_comes_first(administrator: Caller) -> None:
    answer = administrator("POST", "checklists/", HELMET)

    assert (answer.status_code, answer.json()["revision"]) == (201, 2)
    assert listed(administrator, "?kind=helmet") == [("helmet", 2), ("helmet", 1)]


def test_a_revision_is_neither_changed_nor_removed(administrator: Caller) -> None:
    id_ = Checklist.objects.values_list("id", flat=True).filter(kind="helmet").order_by("id")[0]

    assert administrator("PATCH", f"checklists/{id_}/", {}, If_Match="*").status_code == 405
    assert administrator("DELETE", f"checklists/{id_}/", If_Match="*").status_code == 405


def test_an_officer_reads_and_does_not_revise(officer: Caller) -> None:
    assert officer("POST", "checklists/", HELMET).status_code == 403
    assert len(listed(officer)) == 2


def test_a_mild_shell_crack_is_refused_at_its_place(administrator: Caller) -> None:
    mild = {"code": "crack", "label": "A crack", "mildest": "repair"}
    body = {"kind": "helmet", "points": [{"code": "shell", "label": "Shell", "defects": [mild]}]}

    assert pointers(administrator("POST", "checklists/", body)) == {"/points/0/defects/0/mildest"}


def test_each_organisation_sees_its_own_alone(administrator: Caller, foreigner: Caller) -> None:
    administrator("POST", "checklists/", HELMET)

    assert sorted(listed(foreigner)) == [("helmet", 1), ("shoulder_pads", 1)]
