"""Who may do what: every operation that there is, asked for by every role.

OWASP API Security Top 10 2023, API5. A row names the roles that carry the operation: (A)dministrator, a(U)ditor,
(O)fficer, (C)oach, (D)amage reporter, and a de(V)ice's own account with an officer's role. Whoever is not named is
answered 403, before anything is said of the row; an operation without a row fails.
"""

import pytest

from gearlife.domain.ids import uuid7
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import DEVICE, LETTERS, League, call
from tests.gearlife.api.surface import Operation, operations

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

OPEN = frozenset(
    f"GET {path}"
    for path in (
        "schema/",
        "health/live/",
        "health/ready/",
        "health/sweep/",
        "health/live",
        "health/ready",
        "health/sweep",
    )
)
MATRIX = {
    "GET organisations/": "AUOCV",
    "GET organisations/{id}/": "AUOCV",
    "PATCH organisations/{id}/": "A",
    "GET clubs/": "AUOCV",
    "POST clubs/": "A",
    "GET clubs/{id}/": "AUOCV",
    "PUT clubs/{id}/": "A",
    "PATCH clubs/{id}/": "AOV",
    "GET teams/": "AUOCV",
    "POST teams/": "AOV",
    "GET teams/{id}/": "AUOCV",
    "PUT teams/{id}/": "AOV",
    "PATCH teams/{id}/": "AOV",
    "GET seasons/": "AUOCV",
    "POST seasons/": "AO",
    "GET seasons/{id}/": "AUOCV",
    "PUT seasons/{id}/": "AO",
    "PATCH seasons/{id}/": "AO",
    "DELETE seasons/{id}/": "AO",
    "GET memberships/": "AUOCV",
    "POST memberships/": "A",
    "GET memberships/{id}/": "AUOCV",
    "PUT memberships/{id}/": "A",
    "PATCH memberships/{id}/": "A",
    "DELETE memberships/{id}/": "A",
    "POST memberships/{id}/disable-account/": "A",
    "POST memberships/{id}/enable-account/": "A",
    "POST memberships/{id}/token/": "A",
    "GET manufacturers/": "AUOCV",
    "POST manufacturers/": "AOV",
    "GET manufacturers/{id}/": "AUOCV",
    "PUT manufacturers/{id}/": "AOV",
    "PATCH manufacturers/{id}/": "AOV",
    "GET models/": "AUOCV",
    "POST models/": "AOV",
    "GET models/{id}/": "AUOCV",
    "PUT models/{id}/": "AOV",
    "PATCH models/{id}/": "AO",
    "GET items/": "AUOCV",
    "POST items/": "AOV",
    "POST items/bulk/": "AOV",
    "POST items/hold-many/": "AOV",
    "GET items/{id}/": "AUOCV",
    "PUT items/{id}/": "AOV",
    "PATCH items/{id}/": "AO",
    "POST items/{id}/hold/": "AOCV",
    "POST items/{id}/release/": "AO",
    "POST items/{id}/retire/": "AO",
    "POST items/{id}/correct-retirement/": "AO",
    "POST items/{id}/mark-missing/": "AOV",
    "POST items/{id}/found/": "AOV",
    "GET items/{id}/history/": "AUOCV",
    "GET items/{id}/replacements/": "AUOCV",
    "GET items/{id}/wear/": "AUOCV",
    "GET certifications/": "AUOCV",
    "POST certifications/": "AO",
    "GET certifications/{id}/": "AUOCV",
    "PUT certifications/{id}/": "AO",
    "GET policy-rules/": "AUOCV",
    "POST policy-rules/": "A",
    "GET policy-rules/{id}/": "AUOCV",
    "PUT policy-rules/{id}/": "A",
    "POST policy-rules/preview/": "A",
    "POST policy-rules/{id}/override/": "A",
    "POST policy-rules/{id}/preview-override/": "A",
    "POST policy-rules/{id}/end/": "A",
    "POST policy-rules/{id}/preview-end/": "A",
    "GET alerts/": "AUOCV",
    "GET alerts/{id}/": "AUOCV",
    "POST alerts/{id}/acknowledge/": "AOV",
    "POST alerts/{id}/put-off/": "AOV",
    "GET audits/age/": "AUOCV",
    "GET audits/certification/": "AUOCV",
    "GET intakes/": "AUOV",
    "POST intakes/": "AOV",
    "GET intakes/{id}/": "AUOV",
    "PUT intakes/{id}/": "AOV",
    "GET photos/": "AUOCV",
    "POST photos/": "AOCDV",
    "GET photos/{id}/": "AUOCV",
    "PUT photos/{id}/": "AOCDV",
    "GET photos/{id}/picture/": "AUOCV",
    "GET photos/{id}/thumbnail/": "AUOCV",
    "GET players/": "AUOCV",
    "POST players/": "AOV",
    "POST players/bulk/": "AOV",
    "GET players/{id}/": "AUOCV",
    "PUT players/{id}/": "AOV",
    "PATCH players/{id}/": "AOV",
    "POST players/{id}/report-change/": "AOV",
    "POST players/{id}/pseudonymise/": "AO",
    "GET players/{id}/export/": "AO",
    "GET retention-rules/": "AU",
    "GET retention-rules/{id}/": "AU",
    "PATCH retention-rules/{id}/": "A",
    "POST retention-rules/{id}/preview/": "AU",
    "GET assignments/": "AUOCV",
    "POST assignments/": "AOV",
    "POST assignments/bulk/": "AOV",
    "GET assignments/{id}/": "AUOCV",
    "PUT assignments/{id}/": "AOV",
    "POST assignments/{id}/return/": "AOV",
    "GET counted-gear/": "AUOCV",
    "POST counted-gear/": "AOV",
    "POST counted-gear/bulk/": "AOV",
    "GET counted-gear/{id}/": "AUOCV",
    "PUT counted-gear/{id}/": "AOV",
    "GET counted-returns/": "AUOCV",
    "POST counted-returns/": "AOV",
    "POST counted-returns/bulk/": "AOV",
    "GET counted-returns/{id}/": "AUOCV",
    "PUT counted-returns/{id}/": "AOV",
    "GET receipts/": "AUOCV",
    "POST receipts/": "AOV",
    "GET receipts/{id}/": "AUOCV",
    "PUT receipts/{id}/": "AOV",
    "POST receipts/{id}/acknowledge/": "AOV",
    "GET fits/": "AUOCV",
    "POST fits/": "AOV",
    "GET fits/checks/": "AUOCV",
    "GET fits/{id}/": "AUOCV",
    "PUT fits/{id}/": "AOV",
    "GET loaners/": "AUOCV",
    "POST loaners/": "AOV",
    "GET loaners/{id}/": "AUOCV",
    "PUT loaners/{id}/": "AOV",
    "POST loaners/{id}/end/": "AOV",
    "GET measurements/": "AOV",
    "POST measurements/": "AOV",
    "POST measurements/bulk/": "AOV",
    "GET measurements/technical-error/": "AOV",
    "GET measurements/{id}/": "AOV",
    "PUT measurements/{id}/": "AOV",
    "DELETE measurements/{id}/": "AOV",
    "GET size-charts/": "AUOCV",
    "POST size-charts/": "AOV",
    "GET size-charts/sizes/": "AUOCV",
    "POST size-charts/sizes-by-weight/": "AOV",
    "GET size-charts/{id}/": "AUOCV",
    "PUT size-charts/{id}/": "AOV",
    "GET allocation-plans/": "AUOCV",
    "POST allocation-plans/": "AOV",
    "GET allocation-plans/{id}/": "AUOCV",
    "PUT allocation-plans/{id}/": "AOV",
    "POST allocation-plans/{id}/apply/": "AOV",
    "POST allocation-plans/{id}/put-back/": "AOV",
    "GET plan-lines/": "AUOCV",
    "GET plan-lines/{id}/": "AUOCV",
    "GET set-asides/": "AUOCV",
    "GET set-asides/{id}/": "AUOCV",
    "GET checklists/": "AUOCDV",
    "POST checklists/": "A",
    "GET checklists/{id}/": "AUOCDV",
    "PUT checklists/{id}/": "A",
    "GET inspections/": "AUOCV",
    "POST inspections/": "AOV",
    "POST inspections/bulk/": "AOV",
    "GET inspections/{id}/": "AUOCV",
    "PUT inspections/{id}/": "AOV",
    "GET sync/changes/": "AUOCV",
    "GET air-records/": "AUOCV",
    "POST air-records/": "AOV",
    "POST air-records/bulk/": "AOV",
    "GET air-records/leak-test/": "AUOCV",
    "GET air-records/expected/": "AUOCV",
    "GET air-records/{id}/": "AUOCV",
    "PUT air-records/{id}/": "AOV",
    "GET model-air/": "AUOCV",
    "POST model-air/": "AO",
    "GET model-air/{id}/": "AUOCV",
    "PUT model-air/{id}/": "AO",
    "PATCH model-air/{id}/": "AO",
    "GET damage-reports/": "AUOCV",
    "POST damage-reports/": "AOCDV",
    "POST damage-reports/bulk/": "AOCDV",
    "GET damage-reports/{id}/": "AUOCV",
    "PUT damage-reports/{id}/": "AOCDV",
    "GET damage-reports/{id}/likely-items/": "AUOCV",
    "POST damage-reports/{id}/link/": "AOV",
    "POST damage-reports/{id}/review/": "AOV",
    "POST damage-reports/{id}/confirm/": "AOV",
    "POST damage-reports/{id}/dismiss/": "AO",
    "GET not-seen/": "AUOCV",
    "POST not-seen/": "AOV",
    "GET not-seen/{id}/": "AUOCV",
    "PUT not-seen/{id}/": "AOV",
    "GET items/{id}/configuration/": "AUOCV",
    "GET pad-positions/": "AUOCV",
    "POST pad-positions/": "AOV",
    "GET pad-positions/{id}/": "AUOCV",
    "PUT pad-positions/{id}/": "AOV",
    "PATCH pad-positions/{id}/": "AO",
    "DELETE pad-positions/{id}/": "AO",
    "GET approved-parts/": "AUOCV",
    "POST approved-parts/": "AO",
    "GET approved-parts/{id}/": "AUOCV",
    "PUT approved-parts/{id}/": "AO",
    "DELETE approved-parts/{id}/": "AO",
    "GET pad-changes/": "AUOCV",
    "POST pad-changes/": "AOV",
    "GET pad-changes/{id}/": "AUOCV",
    "PUT pad-changes/{id}/": "AOV",
    "GET faceguards/": "AUOCV",
    "POST faceguards/": "AOV",
    "GET faceguards/{id}/": "AUOCV",
    "PUT faceguards/{id}/": "AOV",
    "PATCH faceguards/{id}/": "AOV",
    "GET faceguards/{id}/history/": "AUOCV",
    "GET part-stock/": "AUOCV",
    "GET part-stock/{id}/": "AUOCV",
    "GET stock-entries/": "AUOCV",
    "POST stock-entries/": "AOV",
    "GET stock-entries/{id}/": "AUOCV",
    "PUT stock-entries/{id}/": "AOV",
    "GET part-policies/": "AUOCV",
    "POST part-policies/": "A",
    "GET part-policies/{id}/": "AUOCV",
    "PUT part-policies/{id}/": "A",
}
# What cannot be asked without saying about whom.
ASKS_WHOM = {"GET size-charts/sizes/", "GET air-records/leak-test/", "GET air-records/expected/"}
ASKED = [each for each in operations() if str(each) not in OPEN]


@pytest.fixture
def league() -> League:
    return League()


def test_every_operation_has_its_row_and_every_row_its_operation() -> None:
    assert {str(each) for each in ASKED} == MATRIX.keys()


def test_every_role_gets_the_status_of_its_row(league: League) -> None:
    odd = []
    for operation in ASKED:
        for letter in (*LETTERS, DEVICE):
            expected = answered(operation) if letter in MATRIX.get(str(operation), "") else 403
            status = call(league.callers[letter], operation, uuid7()).status_code
            if status != expected:
                odd.append((str(operation), letter, status, expected))
    assert odd == []


def test_without_a_token_every_operation_but_the_open_ones_is_401() -> None:
    nobody = Caller()
    refused = {str(each) for each in operations() if call(nobody, each, uuid7()).status_code == 401}
    assert refused == {str(each) for each in ASKED}


def test_somebody_without_any_role_is_403_everywhere(league: League) -> None:
    league.users["C"].memberships.all().delete()
    answers = {str(each): call(league.callers["C"], each, uuid7()).status_code for each in ASKED}
    assert set(answers.values()) == {403}


def answered(operation: Operation) -> int:
    """What an empty question about no row is answered where the role carries the operation."""
    if str(operation) in ASKS_WHOM:
        return 400
    if operation.method == "GET":
        return 404 if operation.has_id else 200
    return 404 if operation.has_id and operation.method != "PUT" else 400
