"""Programs that made parts of the product and can make them again."""
