"""`python -m tests.faults.inside WHAT`: what is looked at and prepared inside of the system under test, as JSON."""

import json
import os
import sys
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import django
from django.conf import settings
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone


def load() -> dict[str, Any]:
    """Take the demo club in, without serving."""
    from inspections.management.demo_club import DemoClub

    call_command("migrate", verbosity=0)
    with transaction.atomic():
        DemoClub(settings.FIXTURES_DIR, timezone.now()).load()
    return {}


def world() -> dict[str, Any]:
    """A token of a device and what it can write about."""
    from fitting.models import Player
    from gearlife.domain.vocabulary import Role, Whereabouts
    from gearlife.management.commands.device_token import new_token
    from gearlife.models import Club, Item

    def ids(whereabouts: Whereabouts) -> list[str]:
        items = Item.objects.filter(whereabouts=whereabouts.value, kind="helmet").order_by("id")
        return [str(id_) for id_ in items.values_list("id", flat=True)]

    return {
        "token": new_token(Club.objects.get(code="RM"), Role.OFFICER, "", "faults"),
        "worn": ids(Whereabouts.PLAYER),
        "stock": ids(Whereabouts.STOCK),
        "players": [str(id_) for id_ in Player.objects.order_by("id").values_list("id", flat=True)],
    }


def counts() -> dict[str, Any]:
    """What is there: ids by kind of act, events, and what the outbox still has to do now."""
    from fitting.models import Assignment
    from gearlife.models import Hold, LedgerEvent, OutboxMessage, Sweep
    from inspections.models import Inspection

    now = timezone.now()
    return {
        "inspection": [str(id_) for id_ in Inspection.objects.values_list("id", flat=True)],
        "hold": [
            reason.split()[-1] for reason in Hold.objects.values_list("reason", flat=True) if "looked odd" in reason
        ],
        "assignment": [str(id_) for id_ in Assignment.objects.values_list("id", flat=True)],
        "events": list(LedgerEvent.objects.values_list("action", "text")),
        "due": OutboxMessage.objects.waiting().filter(not_before__lte=now).count(),
        "sent": list(map(str, OutboxMessage.objects.filter(outcome="sent").values_list("id", flat=True))),
        "dead": OutboxMessage.objects.filter(dead_at__isnull=False).count(),
        "sweeps": [f"{organisation} {day}" for organisation, day in Sweep.objects.values_list("organisation", "day")],
    }


def settled() -> dict[str, Any]:
    """Sweep twice and drain with the clock put on past every lease and wait: what that changed and left."""
    from gearlife.models import OutboxMessage
    from gearlife.operations.outbox import drain
    from gearlife.operations.sweep import sweep_all

    now = timezone.now()
    changed = [sum(run.opened + run.changed + run.closed for run in sweep_all(at=now)) for _ in range(2)]
    for hours in range(1, 12):
        while (drained := drain(now + timedelta(hours=2 * hours))).done or drained.failed:
            pass
    call_command("verify_ledger", stdout=sys.stderr)
    return {"changed_by_sweeps": changed, "waiting": OutboxMessage.objects.waiting().count()}


WHAT: dict[str, Callable[[], dict[str, Any]]] = {"load": load, "world": world, "counts": counts, "settled": settled}

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")
    django.setup()
    print(json.dumps(WHAT[sys.argv[1]]()))  # noqa: T201 - the answer
