"""
Rule packs: what is asked of a cylinder's history, in a language that an auditor can read.

A pack is text. It is read (`reading`), its expressions are checked (`checking`) and compiled
(`compiling`), and packs are laid over each other (`layering`) into one `Ruleset`. No text of a
pack is ever run: the language has no loops, no names but those of the fact table and the
settings, and every expression has a value, if only "not known". See grammar/PACKS.md.
"""
