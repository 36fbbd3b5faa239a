"""One page for people a command."""
