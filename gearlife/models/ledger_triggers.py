"""The triggers that make the ledger append-only, for both databases; the migration and the tests' flush share them."""

from django.db.backends.base.base import BaseDatabaseWrapper

TABLE = "gearlife_ledgerevent"
SAYS = "the ledger is append-only"

CREATE = {
    "sqlite": [
        f"CREATE TRIGGER ledger_no_{verb.lower()} BEFORE {verb} ON {TABLE} BEGIN SELECT RAISE(ABORT, '{SAYS}'); END"
        for verb in ("UPDATE", "DELETE")
    ],
    # 23001 (restrict violation) reaches Django as IntegrityError, as SQLite's ABORT does.
    "postgresql": [
        f"CREATE FUNCTION ledger_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{SAYS}' USING ERRCODE = '23001'; END $$",
        f"CREATE TRIGGER ledger_no_change BEFORE UPDATE OR DELETE ON {TABLE} "
        f"FOR EACH ROW EXECUTE FUNCTION ledger_refuse()",
        f"CREATE TRIGGER ledger_no_truncate BEFORE TRUNCATE ON {TABLE} EXECUTE FUNCTION ledger_refuse()",
    ],
}
DROP = {
    "sqlite": ["DROP TRIGGER IF EXISTS ledger_no_update", "DROP TRIGGER IF EXISTS ledger_no_delete"],
    "postgresql": [
        f"DROP TRIGGER IF EXISTS ledger_no_change ON {TABLE}",
        f"DROP TRIGGER IF EXISTS ledger_no_truncate ON {TABLE}",
        "DROP FUNCTION IF EXISTS ledger_refuse()",
    ],
}


def create_triggers(connection: BaseDatabaseWrapper) -> None:
    """Make the table append-only."""
    _run(connection, CREATE)


def drop_triggers(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away: for a migration backwards and for the tests' flush, nothing else."""
    _run(connection, DROP)


def _run(connection: BaseDatabaseWrapper, statements: dict[str, list[str]]) -> None:
    with connection.cursor() as cursor:
        for statement in statements[connection.vendor]:
            cursor.execute(statement)
