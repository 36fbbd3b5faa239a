"""
The language server, `cylfile serve`.

`service` is the edge to the protocol and the only module that knows its types. A `Desk` is what one
folder's record is worked on at: the files as the editor has them, the record they make, what the
rules say of it. Each other module is one thing that an editor can ask, in offsets of a source.
"""
