"""Items, clocks, holds, concerns, alerts and the ledger; and the project, in `config`."""
