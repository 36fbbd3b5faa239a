"""How a record comes from a disk, from git or from an editor, and how it is written back."""
