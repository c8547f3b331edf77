"""Asks the API whatever its document allows, and what it forbids; judges every answer by the document.

The cases and the checks are Schemathesis's, in process through WSGI. Each case finds the same world: what it writes
is rolled back.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django.core.wsgi import get_wsgi_application
from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import Case, openapi
from schemathesis.config import SchemathesisConfig
from schemathesis.core.failures import AcceptedNegativeData, Failure, FailureGroup
from schemathesis.generation.modes import GenerationMode
from schemathesis.openapi.checks import RejectedPositiveData

from gearlife.domain.ids import uuid7
from tests.gearlife.api.surface import PREFIX

MODES = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]
REFUSED = ["400", "401", "403", "404", "405", "409", "412", "413", "415", "428"]
CONFIG = {
    # The caller's own token goes with every case; `ignored_auth` takes it away.
    "generation": {"with-security-parameters": False},
    "checks": {
        # 412 and 428 come before the body is read (RFC 9110, section 13.2).
        "negative_data_rejection": {"expected-statuses": REFUSED},
        "missing_required_header": {"expected-statuses": ["428", "404"]},
    },
}
# A fault of one of these codes could have been told by the document beforehand.
SAYABLE = frozenset(
    {
        *("blank", "empty", "invalid_choice", "max_length", "max_value", "min_length", "min_value", "not_a_list"),
        *("null", "required", "type", "unknown"),
    }
)


class Asked:
    """What was asked and what came of it: statuses by operation, and faults by operation and kind."""

    def __init__(self) -> None:
        self.statuses: dict[str, Counter[int]] = defaultdict(Counter)
        self.faults: dict[tuple[str, str], str] = {}

    @property
    def never_done(self) -> set[str]:
        """The operations that never answered 2xx."""
        return {label for label, seen in self.statuses.items() if not any(200 <= status < 300 for status in seen)}

    def table(self) -> str:
        """One line an operation: how often each status was answered."""
        return "\n".join(
            f"{label:62}" + "  ".join(f"{status}: {times}" for status, times in sorted(seen.items()))
            for label, seen in sorted(self.statuses.items())
        )


@dataclass(frozen=True)
class Effort:
    """How much is asked of each operation: cases by chance of each mode, and every n-th of those at the borders."""

    examples: int
    every_nth: int = 0
    is_random: bool = False


def ask_everything(document: Any, by_hand: Mapping[str, Any], authorization: str, effort: Effort) -> Asked:
    """Ask every operation as the one with this header."""
    schema = openapi.from_dict(document, config=SchemathesisConfig.from_dict(CONFIG))
    schema.app = get_wsgi_application()
    asked = Asked()
    for found in schema.get_all_operations():
        operation: Any = found.ok()  # type: ignore[union-attr] # a broken one fails here, as it should
        for case in _cases_by_hand(operation, by_hand):
            _ask(case, authorization, asked)
        if effort.every_nth:
            for case in islice(_borders(schema, operation), 0, None, effort.every_nth):
                _ask(case, authorization, asked)
        for mode in MODES:
            if mode is GenerationMode.POSITIVE or _can_be_wrong(operation):
                _by_chance(operation, mode, effort, authorization, asked)
    return asked


def _cases_by_hand(operation: Any, by_hand: Mapping[str, Any]) -> Iterator[Case[Any]]:
    """The body that is known to be taken, sent to the list and, by PUT, to an id of its own."""
    name = operation.path.removeprefix(f"/{PREFIX}")
    body = by_hand.get(f"POST {name.removesuffix('{id}/')}")
    if body is not None and operation.method.upper() in {"POST", "PUT"}:
        media_type = operation.get_request_payload_content_types()[0]
        place = {"id": str(uuid7())} if "{id}" in name else {}
        yield operation.Case(body=body, path_parameters=place, media_type=media_type)


def _can_be_wrong(operation: Any) -> bool:
    """Whether there is anything in a request that could be wrong."""
    return bool(operation.body) or any(True for _ in operation.iter_parameters())


def _borders(schema: Any, operation: Any) -> Iterator[Case[Any]]:
    """Smallest, largest, one beyond, missing, doubled, of another type: each member in turn."""
    config = schema.config.generation_for(operation=operation, phase="coverage")
    yield from schema.iter_coverage_cases(operation, generation_modes=MODES, generation_config=config)


def _by_chance(operation: Any, mode: GenerationMode, effort: Effort, authorization: str, asked: Asked) -> None:
    @settings(
        max_examples=effort.examples,
        derandomize=not effort.is_random,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(operation.as_strategy(generation_mode=mode))
    def run(case: Case[Any]) -> None:
        _ask(case, authorization, asked)

    run()


def _ask(case: Case[Any], authorization: str, asked: Asked) -> None:
    """One request, judged; whatever it wrote is taken back."""
    # Asked for unpacked: whoever judges the answer reads it as it comes.
    headers = {"Authorization": authorization, "Accept-Encoding": "identity"}
    with transaction.atomic():
        response = case.call(headers=headers)
        asked.statuses[case.operation.label][response.status_code] += 1
        try:
            case.validate_response(response, headers=headers)
            connection.check_constraints()
        except FailureGroup as group:
            for failure in group.exceptions:
                if not _is_beyond_a_schema(failure, case, response):
                    told = f"{failure}\n{case.as_curl_command()[:2000]}\n{response.status_code} {response.text[:600]}"
                    asked.faults.setdefault((case.operation.label, type(failure).__name__), told)
        finally:
            transaction.set_rollback(True)


def _is_beyond_a_schema(failure: Failure, case: Case[Any], response: Any) -> bool:
    """Whether what looks like a fault to a reader of schemas is none to a reader of the contract."""
    match failure:
        case RejectedPositiveData():
            # Allowed by the document, and refused for what no schema can say: what a file holds, or how members agree.
            is_file = (case.media_type or "").startswith("multipart/")
            told = any(error["code"] in SAYABLE for error in response.json().get("errors", ()))
            return response.status_code in {400, 415} and (is_file or not told)
        case AcceptedNegativeData():
            # `bulk/` answers 200, and each entry with its own status. Blanks around a text are not counted.
            results = response.json().get("results", ()) if "/bulk/" in case.path else ()
            return any(str(result["status"]) in REFUSED for result in results) or (
                "maxLength" in str(failure) and _stripped(case.body) != case.body
            )
    return False


def _stripped(body: Any) -> Any:
    """A body without the blanks around its texts."""
    match body:
        case str():
            return body.strip()
        case dict():
            return {name: _stripped(member) for name, member in body.items()}
        case list():
            return [_stripped(element) for element in body]
    return body
