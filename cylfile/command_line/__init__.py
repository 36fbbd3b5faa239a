"""What commands have in common: the table of them, their options, and what they read."""
