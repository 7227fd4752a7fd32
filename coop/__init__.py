"""A shared studio ledger for a marbling co-operative."""

__version__ = "0.6.0"
