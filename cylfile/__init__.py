"""cylfile: a plain-text ledger and linter for the life of breathing-air cylinders."""

__version__ = "0.1.0"
