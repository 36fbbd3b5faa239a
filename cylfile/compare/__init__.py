"""
Comparing two states of a record: what was added, struck, changed and removed, whatever the layout.

Pure functions of two records. Where the states come from is the business of the edges.
"""
