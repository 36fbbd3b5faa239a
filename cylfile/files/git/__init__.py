"""Git: revisions of a record, what is new since one, what broke a seal."""
