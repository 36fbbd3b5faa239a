"""What the tests stand on: records, ways to run the program, and what makes ledgers."""
