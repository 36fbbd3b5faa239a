"""Sources of air: what happened to them, where their air went, and what of it is suspect."""
