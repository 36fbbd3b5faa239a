"""Fills exported by a fill station or a spreadsheet: from rows of cells to sheets of the ledger."""
