"""Acts of looking gear over: each one transaction, each in the ledger."""
