"""A shared studio ledger for a marbling co-operative."""
