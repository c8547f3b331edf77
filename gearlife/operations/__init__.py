"""Acts: each one transaction, each in the ledger."""
