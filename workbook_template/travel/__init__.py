"""Books that exist already: reading, evaluating, sharing, restoring and checking them."""
