"""From bytes to sentences: sources, spans, line structure, words and the shape memo."""
