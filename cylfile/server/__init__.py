"""
The language server, `cylfile serve`.

`service` is the edge to the protocol; with `text_sync` and the modules of requests it alone knows its types. An `EditedRecord` is one record as an
editor has it: the files with what is typed in them, the record they make, what the rules say of it. Each
other module is one thing that an editor can ask, in offsets of a source.
"""
