"""The record: typed entries and blocks, names that are resolved, and what each says in plain form."""
