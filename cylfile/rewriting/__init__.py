"""Text to new text that says the same, or is refused: layout, insertion, regrouping."""
