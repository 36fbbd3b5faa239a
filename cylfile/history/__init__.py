"""The life of each cylinder and source, folded from its entries, and the facts a rule may ask for."""
