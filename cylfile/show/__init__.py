"""One module an output; the only users of rich. Whatever is shown goes through `visible`."""
